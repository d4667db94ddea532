-- What a drill trains: the kind of its starts, a sentence, and a level from 1 to 3 (0: none).
-- ready names one that Drover brings, so that a club gets it once.
alter table drills add column kind text not null default 'random';
alter table drills add column trains text not null default '';
alter table drills add column level smallint not null default 0 check (level between 0 and 3);
alter table drills add column ready text;
create unique index drills_ready on drills (club_id, ready) where ready is not null;
-- At most one version of a drill is on the shelf.
create unique index drills_live on drills (club_id, shelf_id) where archived_at is null;
-- One child's part of what is set can be withdrawn; several weeks are given at once.
alter table assignees add column withdrawn_at timestamptz;
alter table assignments add column series bigint; -- the first assignment of a weekly repeat, null: no repeat
create index assignments_series on assignments (club_id, series) where series is not null;
