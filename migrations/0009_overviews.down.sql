drop table overviews;
