-- A link to join makes a coach or a welfare officer.
alter table invites add column role text not null default 'coach' check (role in ('coach', 'welfare'));
-- Whom children turn to is changed on a page of its own, whose turns are counted apart.
alter table clubs add column welfare_revision int not null default 0;
alter table shown drop constraint shown_kind_check;
alter table shown add constraint shown_kind_check
  check (kind in ('card', 'link', 'draft', 'invite', 'officer', 'factor', 'codes', 'reset', 'sheet'));
