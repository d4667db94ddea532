delete from shown where kind = 'feed';
alter table shown drop constraint shown_kind_check;
alter table shown add constraint shown_kind_check
  check (kind in ('card', 'link', 'draft', 'invite', 'officer', 'factor', 'codes', 'reset', 'sheet'));
drop index keys_feed;
delete from keys where kind = 'feed';
alter table keys drop constraint keys_kind_check;
alter table keys add constraint keys_kind_check
  check (kind in ('session', 'card', 'phrase', 'report', 'setup', 'device', 'half', 'password', 'factor'));
