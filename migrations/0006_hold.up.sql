-- Hold drills, in which the student defends a draw, and the clock of a drill in
-- seconds of own thought; 0: none.
alter table games add column hold boolean not null default false;
alter table games add column clock int not null default 0 check (clock between 0 and 7200);
