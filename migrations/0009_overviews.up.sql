-- What the stage view says of one student, worked out when a game ends and not when
-- the page is read.
create table overviews (
  club_id     bigint      not null,
  student_id  bigint      not null,
  at          timestamptz not null, -- of the last look at the student's games
  weak_ending text,                 -- the stage that is named, null: none
  weak_stage  text,
  stuck       boolean     not null,
  said        jsonb       not null, -- progress.Overview
  primary key (club_id, student_id),
  foreign key (club_id, student_id) references people (club_id, id),
  check ((weak_ending is null) = (weak_stage is null))
);
create index overviews_weak on overviews (club_id, weak_ending, weak_stage) where weak_stage is not null;
create index overviews_stuck on overviews (club_id) where stuck;
