-- A browser in which a person has signed in before has a key of kind device: it
-- opens nothing, and its sign-ins are counted apart from those of strangers.
alter table keys drop constraint keys_kind_check;
alter table keys add constraint keys_kind_check check (kind in ('session', 'card', 'phrase', 'report', 'setup', 'device'));

-- Failures are forgotten bit by bit.
alter table failures alter column n type double precision;

-- The nodes that run on this database, each with its last word, and the node over
-- which a coach looks on: when that is silent, another one ends the look.
create table nodes (
  id      text        primary key,
  seen_at timestamptz not null default now(),
  pad     text        not null default '' -- to try whether there is space
);
alter table nodes alter column pad set storage external;
alter table acts add column node text; -- of a watch act
create index acts_watched on acts (club_id, game_id) where kind = 'watch';
