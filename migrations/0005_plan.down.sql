drop table placement_tasks;
drop table placements;
drop table bells;
drop index games_trials;
alter table games drop column stage_from;
alter table games drop column kind;
