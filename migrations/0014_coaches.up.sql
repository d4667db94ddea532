-- A coach who stands in for a while sees named groups only, up to a day.
alter table people add column until_at timestamptz;
create table substitutes (
  club_id  bigint not null,
  coach_id bigint not null,
  group_id bigint not null,
  primary key (club_id, coach_id, group_id),
  foreign key (club_id, coach_id) references people (club_id, id),
  foreign key (club_id, group_id) references groups (club_id, id)
);
-- A link with which a coach joins the club; it works once.
create table invites (
  club_id    bigint      not null references clubs (id),
  hash       bytea       not null,
  by_id      bigint      not null,
  until_at   timestamptz, -- the end of a substitute's time, null: no substitute
  groups     bigint[]    not null default '{}',
  expires_at timestamptz not null,
  primary key (club_id, hash),
  foreign key (club_id, by_id) references people (club_id, id)
);
alter table shown drop constraint shown_kind_check;
alter table shown add constraint shown_kind_check check (kind in ('card', 'link', 'draft', 'invite'));
