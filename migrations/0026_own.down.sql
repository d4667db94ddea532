alter table keys drop column shared;
drop table own_settings;
