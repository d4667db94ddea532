drop index concurrently games_ended;
