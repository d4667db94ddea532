drop table audit, stage_results, acts, games, assignees, assignments, drills, failures, keys, consents, guardians, people, clubs;
drop sequence student_numbers;
