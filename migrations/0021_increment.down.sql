alter table games drop column increment;
