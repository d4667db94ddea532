drop index concurrently games_counted;
