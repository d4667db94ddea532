-- Goes back only where no game of this kind was played: they are erased.
alter table people drop column cards_left;
drop index games_again_of;
alter table games drop constraint games_again_of;
delete from acts a using games g where g.club_id = a.club_id and g.id = a.game_id and g.kind in ('again', 'free');
delete from games where kind in ('again', 'free');
alter table games drop column again_of;
alter table games drop constraint games_uncounted;
alter table games add constraint games_trial check (kind <> 'trial' or not counts and assignment_id is null);
alter table games drop constraint games_kind_check;
alter table games add constraint games_kind_check check (kind in ('drill', 'recheck', 'part', 'newcomer', 'trial'));
