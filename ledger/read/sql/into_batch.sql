-- New rows of the store, registered as `incoming`.
insert into batch by name select * from incoming
