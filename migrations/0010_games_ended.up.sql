-- The games of the last weeks, with all that is counted of them: the table is not read.
create index concurrently games_ended on games (club_id, ended_at)
  include (id, student_id, ending, failed_stage, "end", result, hold, counts) where ended_at is not null;
