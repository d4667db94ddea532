drop index assignments_series;
alter table assignments drop column series;
alter table assignees drop column withdrawn_at;
drop index drills_live;
drop index drills_ready;
alter table drills drop column ready;
alter table drills drop column level;
alter table drills drop column trains;
alter table drills drop column kind;
