-- New rows of the store, registered as `incoming`.
insert into tail.posting by name select * from incoming
