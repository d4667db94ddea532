drop table plan_given;
drop table plan_cells;
drop table plans;
