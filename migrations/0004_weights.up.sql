-- A stage's own moves by what they cost (made: counts of the best, cost 1, 2-3,
-- 4-7, 8 and more, win lost), and the share of the legal moves of each kind in
-- those positions, in thousandths, summed up (offered). Empty in older rows,
-- which the diagnosis then leaves out.
alter table stage_results add column made int[] not null default '{}';
alter table stage_results add column offered int[] not null default '{}';
