-- A coach tries a drill out: a game of the coach's own, which counts for nothing.
alter table games drop constraint games_kind_check;
alter table games add constraint games_kind_check check (kind in ('drill', 'recheck', 'part', 'newcomer', 'trial'));
-- The builder's form that it was begun from, where the drill is not kept.
alter table games add column draft bigint;
alter table games add constraint games_trial check (kind <> 'trial' or not counts and assignment_id is null);
