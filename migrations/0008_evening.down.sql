drop index acts_watched;
alter table acts drop column node;
drop table nodes;
delete from keys where kind = 'device';
alter table keys drop constraint keys_kind_check;
alter table keys add constraint keys_kind_check check (kind in ('session', 'card', 'phrase', 'report', 'setup'));
alter table failures alter column n type int;
