drop table watched;
