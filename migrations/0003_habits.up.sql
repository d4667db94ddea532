-- What a game says of its student's habits: for each, chances and how often it
-- was given in to.
alter table games add column habits jsonb not null default '{}';
