drop table term_reports;
