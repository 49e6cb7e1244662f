-- Batches in order: first and last log position, when the last event of each was recorded, journal digest after it.
select first_seq, last_seq, recorded, journal from batch order by last_seq
