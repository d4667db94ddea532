-- A browser in which a person has signed in before has a key of kind device: it
-- opens nothing, and its sign-ins are counted apart from those of strangers.
alter table keys drop constraint keys_kind_check;
alter table keys add constraint keys_kind_check check (kind in ('session', 'card', 'phrase', 'report', 'setup', 'device'));

-- Failures are forgotten bit by bit.
alter table failures alter column n type double precision;
