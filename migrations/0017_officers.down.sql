delete from shown where kind = 'officer';
alter table shown drop constraint shown_kind_check;
alter table shown add constraint shown_kind_check check (kind in ('card', 'link', 'draft', 'invite', 'factor', 'codes', 'reset', 'sheet'));
delete from invites where role = 'welfare';
alter table invites drop column role;
alter table clubs drop column welfare_revision;
