-- New rows of the store, registered as `incoming`.
insert into tail.open_row by name select * from incoming
