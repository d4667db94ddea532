-- Seconds that a drill's clock gains with each own move; 0: none.
alter table games add column increment int not null default 0 check (increment between 0 and 60);
