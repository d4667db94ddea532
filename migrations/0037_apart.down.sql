-- As 0034 made them.
create or replace function erase_rows(c bigint, who bigint[]) returns void
language plpgsql set search_path = pg_catalog, public, pg_temp as $$
declare
  names text[];
  called text;
  their text;
begin
  perform from public.people p where p.club_id = c and p.id = any (who) order by p.id for update;
  select array_agg(p.name) into names from public.people p where p.club_id = c and p.id = any (who)
    and not exists (select from public.people o where o.club_id = c and lower(o.name) = lower(p.name) and o.id <> all (who));
  their := '\y(' || array_to_string(who, '|') || ')\y';

  delete from public.acts a using public.games g
    where a.club_id = c and g.club_id = c and g.id = a.game_id and g.student_id = any (who);
  delete from public.placement_tasks t using public.placements p
    where t.club_id = c and p.club_id = c and p.id = t.placement_id and p.student_id = any (who);
  delete from public.placements where club_id = c and student_id = any (who);
  delete from public.stage_results where club_id = c and student_id = any (who);
  delete from public.kept_trials where club_id = c and student_id = any (who);
  delete from public.overviews where club_id = c and student_id = any (who);
  delete from public.bells where club_id = c and student_id = any (who);
  delete from public.games where club_id = c and student_id = any (who);
  delete from public.assignees where club_id = c and student_id = any (who);
  delete from public.attended where club_id = c and subject_id = any (who) and kind not in ('late', 'plan');
  delete from public.term_reports where club_id = c and student_id = any (who);
  delete from public.exports where club_id = c and (student_id is null or student_id = any (who) or by_id = any (who));
  delete from public.consents where club_id = c and (student_id = any (who) or guardian_id = any (who));
  delete from public.members where club_id = c and student_id = any (who);
  delete from public.guardians where club_id = c and (student_id = any (who) or guardian_id = any (who));
  delete from public.own_settings where club_id = c and person_id = any (who);
  delete from public.notices where club_id = c and (to_id = any (who) or about_id = any (who) or by_id = any (who));
  delete from public.sheet_cards where club_id = c and student_id = any (who);
  delete from public.shown where club_id = c
    and (kind = 'draft' or kind in ('card', 'link', 'sheet', 'feed') and subject_id = any (who));
  delete from public.forms where club_id = c and person_id = any (who);
  delete from public.keys where club_id = c and person_id = any (who);
  delete from public.changes where club_id = c and (by_id = any (who) or before::text ~ their
    or what in ('student', 'guardian') and subject_id = any (who));
  delete from public.erasures where club_id = c and student_id = any (who) and confirmed_by is null;
  if to_regclass('public.concerns') is not null then
    delete from public.concerns where club_id = c and (student_id = any (who) or by_id = any (who));
    delete from public.reasons where club_id = c and student_id = any (who);
    delete from public.bars where club_id = c and person_id = any (who);
  end if;

  if to_regclass('public.letters') is not null then
    delete from public.letters where club_id = c and to_id = any (who);
    delete from public.addresses where club_id = c and person_id = any (who);
  end if;

  -- What adults have named after them goes on without the name.
  foreach called in array coalesce(names, '{}') loop
    delete from public.changes where club_id = c and without_name(before::text, called) <> before::text;
    update public.drills set name = left(without_name(name, called), 80) where club_id = c and without_name(name, called) <> name;
    update public.people set name = left(without_name(name, called), 60)
      where club_id = c and role = 'guardian' and id <> all (who) and without_name(name, called) <> name;
    update public.groups set name = left(without_name(name, called), 40) || ' ' || id
      where club_id = c and without_name(name, called) <> name;
    update public.plans set title = left(without_name(title, called), 60) where club_id = c and without_name(title, called) <> title;
    update public.holidays set name = left(without_name(name, called), 60) where club_id = c and without_name(name, called) <> name;
    update public.term_reports
      set title = left(without_name(title, called), 60), remark = left(without_name(remark, called), 800)
      where club_id = c and without_name(title || ' ' || remark, called) <> title || ' ' || remark;
    update public.consents
      set given_by = left(without_name(given_by, called), 60), mistake = left(without_name(mistake, called), 200)
      where club_id = c and without_name(given_by || ' ' || coalesce(mistake, ''), called) <> given_by || ' ' || coalesce(mistake, '');
  end loop;

  if to_regclass('river.river_job') is not null then
    delete from river.river_job j where (j.args->>'club')::bigint = c
      and ((j.args->>'student')::bigint = any (who) or j.kind = 'export' and not exists (
        select from public.exports x where x.club_id = c and x.id = (j.args->>'export')::bigint));
  end if;
  insert into public.erased (hash)
    select sha256(p.mark) from public.people p where p.club_id = c and p.id = any (who)
    on conflict do nothing;
  delete from public.people where club_id = c and id = any (who);
end $$;

create or replace function erase_next() returns bigint
language plpgsql security definer set search_path = pg_catalog, public, pg_temp as $$
declare
  e record;
begin
  select o.club_id, o.id, o.student_id into e
    from public.erasures o
    where o.due_at <= now() and o.stopped_at is null and o.done_at is null and not erasure_held(o.club_id, o.student_id)
    order by o.due_at, o.club_id, o.id
    limit 1
    for update skip locked;
  if not found then
    return null;
  end if;
  perform erase_rows(e.club_id, with_guardians(e.club_id, e.student_id));
  update public.erasures set done_at = now() where club_id = e.club_id and id = e.id;
  insert into public.audit (club_id, action, subject_id, detail) values (e.club_id, 'erased', e.student_id, 'erasure ' || e.id);
  return e.id;
end $$;

create or replace function erase_left() returns bigint
language plpgsql security definer set search_path = pg_catalog, public, pg_temp as $$
declare
  p record;
begin
  select o.club_id, o.id into p
    from public.people o
    join public.clubs c on c.id = o.club_id
    where o.role = 'student' and o.archived_at < now() - make_interval(months => c.keep_left)
      and not exists (select from public.concerns h where h.club_id = o.club_id and h.student_id = o.id)
    order by o.archived_at, o.club_id, o.id
    limit 1
    for update of o skip locked;
  if not found then
    return null;
  end if;
  update public.erasures set stopped_by = student_id where club_id = p.club_id and student_id = p.id
    and stopped_at is null and done_at is null;
  perform erase_rows(p.club_id, with_guardians(p.club_id, p.id));
  insert into public.audit (club_id, action, subject_id, detail) values (p.club_id, 'erased', p.id, 'left the club');
  return p.id;
end $$;

delete from concerns where by_id is null;
alter table concerns alter column by_id set not null;
delete from consents where noted_by is null;
alter table consents alter column noted_by set not null;
