alter table acts drop column help;
alter table games drop column helps;
