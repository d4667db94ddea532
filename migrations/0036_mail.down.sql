delete from notices where what = 'forgotten';
alter table notices drop constraint notices_what_check;
alter table notices add constraint notices_what_check check (what in ('password', 'factor', 'barred', 'lifted'));
delete from keys where kind in ('confirm', 'stop');
alter table keys drop constraint keys_kind_check;
alter table keys add constraint keys_kind_check
  check (kind in ('session', 'card', 'phrase', 'report', 'setup', 'device', 'half', 'password', 'factor', 'feed'));
alter table people drop column mail_refused_at;
drop table letters;
drop table addresses;
