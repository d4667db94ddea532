drop table shown;
drop table forms;
