drop index games_over;
drop function forget_audit(int);
drop function forget_games(int);
delete from stage_results r where not exists (select from games g where g.club_id = r.club_id and g.id = r.game_id);
alter table stage_results drop constraint stage_results_club_id_student_id_fkey;
alter table stage_results add foreign key (club_id, game_id) references games (club_id, id);
drop table kept_trials;
alter table clubs drop column keep_games, drop column keep_left, drop column keep_audit, drop column keeping_revision;
