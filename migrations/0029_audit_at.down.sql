drop index audit_at;
