delete from attended where kind in ('next', 'plan');
alter table attended drop constraint attended_kind_check;
alter table attended add constraint attended_kind_check check (kind in ('stuck', 'first', 'test', 'silent', 'card', 'link', 'late'));
