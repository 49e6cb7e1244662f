-- New rows of the store, registered as `incoming`.
insert into tail.event by name select * from incoming
