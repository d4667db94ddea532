delete from overviews;
drop index overviews_first;
alter table overviews drop column first_ending, drop column first_habit, drop column first_stage;
alter table overviews add column weak_ending text;
alter table overviews add column weak_stage text;
alter table overviews add check ((weak_ending is null) = (weak_stage is null));
create index overviews_weak on overviews (club_id, weak_ending, weak_stage) where weak_stage is not null;
alter table games add column habits jsonb not null default '{}';
alter table stage_results drop column habits;
