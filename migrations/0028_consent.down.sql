drop index consents_lifted;
drop index consents_withdrawn;
delete from consents where withdraws or lifts is not null;
alter table consents drop column lifts, drop column withdraws, drop column notice_id, drop column guardian_id;
drop table notice_texts;
