-- How a person has the board and the pages, kept for that person alone; without a row
-- all is as it comes.
create table own_settings (
  club_id   bigint  not null,
  person_id bigint  not null,
  pace      int     check (pace between 0 and 5000), -- null: as the club has it
  sounds    boolean not null default false,
  turned    boolean not null default false, -- the own men at the top
  big       boolean not null default false, -- the signs on the board
  scheme    text    not null default '' check (scheme in ('', 'light', 'dark')), -- '': as the device
  primary key (club_id, person_id),
  foreign key (club_id, person_id) references people (club_id, id)
);
-- A session on a device that others use, too: it ends after a shorter time without use.
alter table keys add column shared boolean not null default false;
