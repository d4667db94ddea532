alter table games drop constraint games_trial;
alter table games drop column draft;
delete from acts a using games g where g.club_id = a.club_id and g.id = a.game_id and g.kind = 'trial';
delete from games where kind = 'trial';
alter table games drop constraint games_kind_check;
alter table games add constraint games_kind_check check (kind in ('drill', 'recheck', 'part', 'newcomer'));
