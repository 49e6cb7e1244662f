-- New rows of the store, registered as `incoming`.
insert into posting by name select * from incoming
