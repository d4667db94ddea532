-- Who did what lately is asked for by time.
create index audit_at on audit (club_id, at);
