-- A game says of its student's habits in which stage they showed, and what moves the
-- positions offered. Rows of before say nothing until 'drover recompute' has counted
-- them anew.
alter table stage_results add column habits jsonb not null default '{}';
alter table games drop column habits;
-- The stage view groups students by what is to be taught first, a habit or a stage.
alter table overviews add column first_ending text;
alter table overviews add column first_habit text;
alter table overviews add column first_stage text;
alter table overviews add check ((first_ending is null) = (first_habit is null and first_stage is null));
drop index overviews_weak;
alter table overviews drop column weak_ending, drop column weak_stage;
create index overviews_first on overviews (club_id, first_ending, first_habit, first_stage) where first_ending is not null;
-- What was worked out before is worked out anew at the first look.
delete from overviews;
