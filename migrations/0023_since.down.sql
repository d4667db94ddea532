drop index assignees_passed;
alter table people drop column looked_before;
alter table people drop column looked_at;
drop table attended;
