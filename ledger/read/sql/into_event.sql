-- New rows of the store, registered as `incoming`.
insert into event by name select * from incoming
