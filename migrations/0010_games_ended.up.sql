create index concurrently games_ended on games (club_id, ended_at) where ended_at is not null;
