-- Every event, known at a position and recorded in a time, that superseded another, with the one that stood until then.
with line as (
    select
        *,
        lag(seq) over earlier as was_seq, lag(kind) over earlier as was_kind, lag(edtf) over earlier as was_edtf,
        lag(payload) over earlier as was_payload
    from event
    where known_from <= $known
    window earlier as (partition by root order by seq)
)
select
    seq, root, known_from, kind, edtf, recorded, actor, payload, reason, words,
    was_seq, was_kind, was_edtf, was_payload
from line
where was_seq is not null and recorded between $first and $last
order by seq
