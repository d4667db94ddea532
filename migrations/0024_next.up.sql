-- Two more kinds of line: what comes next for a student, where what names the drill that is
-- proposed, and a week of a term plan that is not given yet, where subject_id is the plan.
alter table attended drop constraint attended_kind_check;
alter table attended add constraint attended_kind_check check (kind in ('stuck', 'first', 'test', 'silent', 'card', 'link', 'late',
  'next', 'plan'));
