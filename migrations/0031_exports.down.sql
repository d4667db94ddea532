drop table export_pieces;
drop table exports;
