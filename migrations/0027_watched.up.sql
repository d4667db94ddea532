-- Who watched a game of a test from before its first move to its end, as the log of that game
-- says; or, as that coach says of a whole test afterwards, its last game.
create table watched (
  club_id bigint      not null,
  game_id bigint      not null,
  by_id   bigint      not null,
  noted   boolean     not null, -- by the coach afterwards
  at      timestamptz not null,
  primary key (club_id, game_id, by_id, noted),
  foreign key (club_id, game_id) references games (club_id, id) on delete cascade,
  foreign key (club_id, by_id) references people (club_id, id)
);
