alter table games drop column habits;
