-- Games of a student that count for nothing: a position of a game once more, and free practice.
alter table games drop constraint games_kind_check;
alter table games add constraint games_kind_check
  check (kind in ('drill', 'recheck', 'part', 'newcomer', 'trial', 'again', 'free'));
alter table games drop constraint games_trial;
alter table games add constraint games_uncounted
  check (kind not in ('trial', 'again', 'free') or not counts and assignment_id is null);
-- The game whose position it is; what is erased is forgotten here.
alter table games add column again_of bigint;
alter table games add constraint games_again_of foreign key (club_id, again_of) references games (club_id, id)
  on delete set null (again_of);
create index games_again_of on games (club_id, again_of) where again_of is not null;
-- The cards before the first game were put away.
alter table people add column cards_left boolean not null default false;
