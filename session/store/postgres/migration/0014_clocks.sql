-- A database's clock that was years ahead, and is set back, keeps nobody from work
-- that one does for all, and gives no money of the day out twice.

-- begin_work takes a lease on work that is to be done every so often, by one
-- gateway for all: the number that finish_work asks for, or 0 when it is not
-- due, or another's. A lease that is over later than any that began now, and work
-- that was finished later than now, are of a clock that was ahead and is set back.
create or replace function begin_work(_name text, _holder text, _every bigint, _within bigint) returns bigint language plpgsql as $$
#variable_conflict use_column
declare
  _now bigint := clock();
  _minute bigint := 60000000000;
  got bigint;
begin
  insert into leases (name, holder, fence, until, done) values (_name, _holder, 1, _now + _within, never())
    on conflict (name) do update set holder = _holder, fence = leases.fence + 1, until = _now + _within
    where (leases.until <= _now or leases.until > _now + _within + _minute)
      and (leases.done = never() or leases.done + _every <= _now or leases.done > _now + _minute)
    returning fence into got;
  return coalesce(got, 0);
end $$;

-- spend takes segments out of a part of a channel's day unless they make more
-- than _most, where that is not under 0; _must takes them all the same. It gives
-- what is spent then, whether they were taken, and whether they are the day's
-- first that were too much. The newest days are kept, by their number: a clock that
-- was ahead for a while takes none from those that go on.
create or replace function spend(_channel text, _part text, _day bigint, _segments bigint, _most bigint, _must boolean)
returns table (spent bigint, taken boolean, first boolean) language plpgsql as $$
#variable_conflict use_column
begin
  if not exists (select 1 from spending where channel = _channel and part = _part and day = _day) then
    delete from spending where day < (select min(day) from (select distinct day from spending order by day desc limit 40) as newest);
    -- What was sent before this day was first counted, as after a move, is put
    -- to the largest part: what it was for is not known here.
    insert into spending (channel, part, day, segments, refused)
      select _channel, _part, _day, coalesce(sum(segments), 0), false from outgoing
      where channel = _channel and changed >= _day and state in ('handed on', 'delivered', 'failed')
        and _part = 'known' and not exists (select 1 from spending where channel = _channel)
      on conflict do nothing;
  end if;
  update spending set segments = greatest(0, segments + _segments)
    where channel = _channel and part = _part and day = _day and (_must or _most < 0 or segments + _segments <= _most)
    returning segments into spent;
  taken := found;
  first := false;
  if not taken or _most >= 0 and spent > _most then
    update spending set refused = true where channel = _channel and part = _part and day = _day and not refused;
    first := found;
  end if;
  if not taken then
    select segments into spent from spending where channel = _channel and part = _part and day = _day;
  end if;
  return next;
end $$;
