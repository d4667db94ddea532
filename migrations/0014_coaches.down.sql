delete from shown where kind = 'invite';
alter table shown drop constraint shown_kind_check;
alter table shown add constraint shown_kind_check check (kind in ('card', 'link', 'draft'));
drop table invites;
drop table substitutes;
alter table people drop column until_at;
