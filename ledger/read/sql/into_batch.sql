-- New rows of the store, registered as `incoming`.
insert into tail.batch by name select * from incoming
