-- New rows of the store, registered as `incoming`.
insert into open_row by name select * from incoming
