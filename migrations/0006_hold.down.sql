alter table games drop column clock;
alter table games drop column hold;
