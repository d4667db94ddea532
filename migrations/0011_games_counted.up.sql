create index concurrently games_counted on games (club_id, student_id) where ended_at is not null and counts;
