delete from shown where kind = 'sheet';
alter table shown drop constraint shown_kind_check;
alter table shown add constraint shown_kind_check check (kind in ('card', 'link', 'draft', 'invite', 'factor', 'codes', 'reset'));
drop table sheet_cards;
drop table sheets;
