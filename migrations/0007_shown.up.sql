-- Forms that made something, each by a digest of all that it said, the id that
-- its page gave it included: a form that is sent twice answers as the first time.
create table forms (
  club_id   bigint      not null,
  person_id bigint      not null,
  id        bytea       not null,
  answer    bigint,     -- the number of what was made; nobody else sees the row before it is there
  at        timestamptz not null,
  primary key (club_id, person_id, id),
  foreign key (club_id, person_id) references people (club_id, id)
);
create index forms_old on forms (at);

-- What a session is shown for a while: a card or a link that it has just made, a
-- drill that it is writing. It is sealed under a key that only the session's own
-- token gives, and the token is kept nowhere.
create table shown (
  club_id    bigint      not null,
  session    bytea       not null,
  kind       text        not null check (kind in ('card', 'link', 'draft')),
  subject_id bigint      not null,
  sealed     bytea       not null,
  expires_at timestamptz not null,
  primary key (club_id, session, kind, subject_id),
  foreign key (club_id, session) references keys (club_id, hash) on delete cascade
);
create index shown_old on shown (expires_at);
create index shown_subject on shown (club_id, kind, subject_id);
