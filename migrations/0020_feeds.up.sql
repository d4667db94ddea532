-- feed: the address with which a coach's or a guardian's calendar asks which days drills
-- are due on. Nobody has two: a new one ends the old.
alter table keys drop constraint keys_kind_check;
alter table keys add constraint keys_kind_check
  check (kind in ('session', 'card', 'phrase', 'report', 'setup', 'device', 'half', 'password', 'factor', 'feed'));
create unique index keys_feed on keys (club_id, person_id) where kind = 'feed';
alter table shown drop constraint shown_kind_check;
alter table shown add constraint shown_kind_check
  check (kind in ('card', 'link', 'draft', 'invite', 'officer', 'factor', 'codes', 'reset', 'sheet', 'feed'));
