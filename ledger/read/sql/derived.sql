-- Journal lines from acts as columns (table `acts`, one row an act of a subject whose acts stand on days of their own),
-- by windows: no act is told after another. Knows the operations enter, shift, back and level, and no kind.
-- $sinks: accounts that carry neither holder nor owner. Lots among them stand in cells told apart by place and sex alone.
with
-- one animal: every part of its cell is the last that was set
carried as (
    select
        *,
        last_value(taxon ignore nulls) over told as t1, last_value(sex ignore nulls) over told as s1,
        last_value(place ignore nulls) over told as p1, last_value(holder ignore nulls) over told as h1,
        last_value(owner ignore nulls) over told as o1, last_value(standing ignore nulls) over told as g1
    from acts
    where individual
    window told as (partition by subject order by day rows unbounded preceding)
),
emptied as (
    select
        * replace (
            case when list_contains($sinks::varchar[], p1) then '' else h1 end as h1,
            case when list_contains($sinks::varchar[], p1) then '' else o1 end as o1
        )
    from carried
),
before as (
    select
        *,
        lag(t1) over told as t0, lag(s1) over told as s0, lag(p1) over told as p0, lag(h1) over told as h0,
        lag(o1) over told as o0, lag(g1) over told as g0
    from emptied
    window told as (partition by subject order by day)
),
lived as (
    select
        *,
        starts_with(p0, 'e-') or p0 in ('escaped', 'missing', 'in_transit')
        or (starts_with(p0, 'o-') and starts_with(o0, 'h-')) as live
    from before
),
one as (
    select
        subject, effect, day, reason, reason_in, 1 as n, t1, s1, p1, h1, o1,
        case when op = 'back' and not live then coalesce(standing, 'collection') else g1 end as g1,
        case when op = 'enter' then t1 else t0 end as t0,
        case when op = 'enter' then s1 else s0 end as s0,
        case when op = 'enter' or (op = 'back' and not live) then source else p0 end as p0,
        case when op = 'enter' then source_holder when op = 'back' and not live then source else h0 end as h0,
        case
            when op = 'enter' then source_owner
            when op = 'back' and not live then case when starts_with(owner, 'h-') then source else owner end
            else o0
        end as o0,
        case
            when op = 'enter' then g1 when op = 'back' and not live then coalesce(standing, 'collection') else g0
        end as g0
    from lived
),
-- a lot: by place and sex; what an act adds and takes away, and the balance since the last count of that place
part as (
    select a.*, unnest(['male', 'female', 'hermaphrodite', 'unknown']) as one_sex, unnest([n_m, n_f, n_h, n_u]) as q
    from acts a
    where not individual
),
leg as (
    select subject, effect, day, place as spot, one_sex, q as change, null as level from part where op = 'enter' and q > 0
    union all
    select subject, effect, day, source, one_sex, -q, null from part where op = 'shift' and q > 0
    union all
    select subject, effect, day, coalesce(place, source), coalesce(sex, one_sex), q, null
    from part
    where op = 'shift' and q > 0 and starts_with(coalesce(place, source), 'e-')
    union all
    select subject, effect, day, source, one_sex, 0, q from part where op = 'level'
),
summed as (
    select subject, effect, day, spot, one_sex, sum(change) as change, max(level) as level from leg group by all
),
run as (select *, sum(change) over told as total from summed
    window told as (partition by subject, spot, one_sex order by day rows unbounded preceding)),
counted as (
    select *, coalesce(last_value(level - total ignore nulls) over earlier, 0) + total as had
    from run
    window earlier as (
        partition by subject, spot, one_sex order by day rows between unbounded preceding and 1 preceding
    )
),
differs as (select *, level - had as found from counted where level is not null and level <> had),
mixed as (  -- a count that rises in one sex and falls in another re-classes; left to the fold
    select distinct subject from differs group by subject, effect having min(found) < 0 and max(found) > 0
),
lot as (
    select
        subject, effect, day, reason, reason_in, q as n, lot_taxon as t1, one_sex as s1, place as p1, holder as h1,
        owner as o1, standing as g1, lot_taxon as t0, one_sex as s0, source as p0, source_holder as h0,
        source_owner as o0, standing as g0
    from part
    where op = 'enter' and q > 0
    union all by name
    select
        subject, effect, day, reason, reason_in, q as n, lot_taxon as t0, one_sex as s0, source as p0,
        lot_holder as h0, lot_owner as o0, lot_standing as g0, lot_taxon as t1, coalesce(sex, one_sex) as s1,
        coalesce(place, source) as p1,
        case when list_contains($sinks::varchar[], place) then '' else coalesce(holder, lot_holder) end as h1,
        case when list_contains($sinks::varchar[], place) then '' else coalesce(owner, lot_owner) end as o1,
        coalesce(standing, lot_standing) as g1
    from part
    where op = 'shift' and q > 0
    union all by name
    select
        subject, effect, day,
        case
            when (found < 0 and account in ('born', 'propagated', 'wild', 'brought_forward')) or (found > 0 and account = 'dead')
            then 'count_unaccounted' else reason
        end as reason,
        '' as reason_in, abs(found) as n, lot_taxon as t0, d.one_sex as s0, lot_taxon as t1, d.one_sex as s1,
        lot_standing as g0, lot_standing as g1,
        case
            when (found < 0 and account in ('born', 'propagated', 'wild', 'brought_forward')) or (found > 0 and account = 'dead')
            then 'unaccounted' else account
        end as other,
        case when found < 0 then source else other end as p0, case when found < 0 then lot_holder else '' end as h0,
        case when found < 0 then lot_owner else '' end as o0,
        case when found < 0 then other else source end as p1, case when found < 0 then '' else lot_holder end as h1,
        case when found < 0 then '' else lot_owner end as o1
    from differs d join acts a using (subject, effect, day)
    where a.op = 'level'
),
flow as (
    select * from one
    union all by name
    select * exclude (other) from lot
),
moved as (
    select * from flow where (t0, s0, p0, h0, o0, g0) is distinct from (t1, s1, p1, h1, o1, g1)
),
balanced as (  -- a change of taxon passes through an account, so that each taxon balances by itself
    select * from moved where t0 = t1
    union all by name
    select * replace (t0 as t1, s0 as s1, 'redetermined' as p1, '' as h1, '' as o1, g0 as g1) from moved where t0 <> t1
    union all by name
    select * replace (t1 as t0, s1 as s0, 'redetermined' as p0, '' as h0, '' as o0, g0 as g0) from moved where t0 <> t1
),
line as (
    select effect, subject, t0 as taxon, s0 as sex, p0 as place, h0 as holder, o0 as owner, g0 as standing, reason, day, -n as d
    from balanced
    union all
    select effect, subject, t1, s1, p1, h1, o1, g1, case when reason_in = '' then reason else reason_in end, day, n
    from balanced
)
select
    effect, subject, day as counts_on, taxon, sex, place, holder, owner, standing, reason, cast(sum(d) as bigint) as delta
from line
where subject not in (select subject from mixed)
group by all
having sum(d) <> 0
