-- What a coach has done about a line of the page 'since you last looked', or has put off.
-- subject_id is a student, or of the kind 'late' an assignment. evidence is what the line
-- stood on then; it comes back with enough more of it, or after until_at.
create table attended (
  club_id    bigint      not null references clubs (id),
  kind       text        not null check (kind in ('stuck', 'first', 'test', 'silent', 'card', 'link', 'late')),
  subject_id bigint      not null,
  what       text        not null default '',
  evidence   bigint      not null,
  until_at   timestamptz, -- null: done
  task_id    bigint,      -- the assignment that did it; it counts as long as that is not withdrawn
  by_id      bigint      not null,
  at         timestamptz not null,
  primary key (club_id, kind, subject_id, what),
  foreign key (club_id, by_id) references people (club_id, id),
  foreign key (club_id, task_id) references assignments (club_id, id)
);
create index attended_at on attended (club_id, at);
-- When a coach last looked: the visit that goes on, and the one before it.
alter table people add column looked_at timestamptz;
alter table people add column looked_before timestamptz;
create index assignees_passed on assignees (club_id, passed_at) where passed_at is not null;
