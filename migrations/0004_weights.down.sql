alter table stage_results drop column offered;
alter table stage_results drop column made;
