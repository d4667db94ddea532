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
-- The evidence of a line is a game or a number of games, that no passing week makes smaller. What
-- was done or put off by now stays so, and what is said of students is worked out again.
update attended t set evidence = greatest(t.evidence, coalesce((select max(g.id) from games g
    where g.club_id = t.club_id and g.student_id = t.subject_id and g.ended_at is not null), 0))
  where t.kind = 'stuck';
update attended t set evidence = (select count(distinct r.game_id) from stage_results r
    where r.club_id = t.club_id and r.student_id = t.subject_id and r.ending = split_part(t.what, ' ', 1))
  where t.kind in ('first', 'test');
update overviews set at = '-infinity';
