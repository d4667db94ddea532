-- How long a club keeps things, in months and within limits. Less is allowed, more is not.
alter table clubs add column keep_games int not null default 24 check (keep_games between 3 and 24);
alter table clubs add column keep_left  int not null default 12 check (keep_left between 1 and 12);
alter table clubs add column keep_audit int not null default 24 check (keep_audit between 12 and 24);
alter table clubs add column keeping_revision int not null default 0;

-- What mastery and the dates of re-checks follow from, of games in test mode that are gone.
create table kept_trials (
  club_id    bigint      not null,
  game_id    bigint      not null,
  student_id bigint      not null,
  ended_at   timestamptz not null,
  ending     text        not null,
  stage_from text        not null,
  target     text        not null,
  moves      int         not null,
  result     text        not null,
  primary key (club_id, game_id),
  foreign key (club_id, student_id) references people (club_id, id)
);
create index kept_trials_student on kept_trials (club_id, student_id);

-- The totals of stages outlive their games.
alter table stage_results drop constraint stage_results_club_id_game_id_fkey;
alter table stage_results add foreign key (club_id, student_id) references people (club_id, id);

-- The app's own role cannot delete an act or a row of the audit. These functions do, in the
-- owner's name, and only what is older than the club keeps it. Each forgets some rows and says
-- how many, so that a job can do a little at a time.
create function forget_games(most int) returns int
language plpgsql security definer set search_path = pg_catalog, public, pg_temp as $$
declare
  clubs bigint[];
  ids bigint[];
begin
  select array_agg(o.club_id), array_agg(o.id) into clubs, ids
  from (select g.club_id, g.id
    from public.games g
    join public.clubs c on c.id = g.club_id
    where coalesce(g.ended_at, g.started_at) < now() - make_interval(months => c.keep_games)
    order by g.club_id, g.id
    limit most
    for update of g skip locked) o;
  if ids is null then
    return 0;
  end if;
  insert into public.kept_trials (club_id, game_id, student_id, ended_at, ending, stage_from, target, moves, result)
    select g.club_id, g.id, g.student_id, g.ended_at, g.ending, coalesce(g.stage_from, g.target), g.target,
      coalesce(g.moves, 0), g.result
    from public.games g
    join unnest(clubs, ids) o(club_id, id) on o.club_id = g.club_id and o.id = g.id
    where g.mode = 'test' and g.counts and g.ended_at is not null and g.kind in ('drill', 'recheck') and g."end" <> 'left'
    on conflict do nothing;
  delete from public.acts a using unnest(clubs, ids) o(club_id, id) where a.club_id = o.club_id and a.game_id = o.id;
  update public.placement_tasks t set game_id = null from unnest(clubs, ids) o(club_id, id)
    where t.club_id = o.club_id and t.game_id = o.id;
  delete from public.games g using unnest(clubs, ids) o(club_id, id) where g.club_id = o.club_id and g.id = o.id;
  return cardinality(ids);
end $$;
revoke all on function forget_games(int) from public;

create function forget_audit(most int) returns int
language plpgsql security definer set search_path = pg_catalog, public, pg_temp as $$
declare
  gone int;
begin
  delete from public.audit a using (
    select a.club_id, a.id
    from public.audit a
    left join public.clubs c on c.id = a.club_id
    where a.at < now() - make_interval(months => coalesce(c.keep_audit, 24))
    limit most) o
    where a.club_id = o.club_id and a.id = o.id;
  get diagnostics gone = row_count;
  return gone;
end $$;
revoke all on function forget_audit(int) from public;
create index games_over on games (club_id, (coalesce(ended_at, started_at)));
