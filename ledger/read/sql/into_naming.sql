-- New rows of the store, registered as `incoming`. Sorted, so that whole blocks of rows are skipped when one id is asked.
insert into tail.naming by name select * from incoming order by id, seq
