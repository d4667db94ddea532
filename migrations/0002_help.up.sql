-- Help in steps: which steps a game allows (a bit each, 1 to 4), and which step
-- an act asked for.
alter table games add column helps int not null default 0;
alter table acts add column help smallint;
