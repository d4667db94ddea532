alter table consents drop column corrects, drop column mistake;
drop table holidays;
alter table clubs drop column outside, drop column revision;
alter table people drop column revision;
drop table changes;
drop table members;
drop table groups;
