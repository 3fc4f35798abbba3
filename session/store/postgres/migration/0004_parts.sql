-- A day's money in parts, so that what one is for spends nothing of another.
drop function spend(text, bigint, bigint, bigint, boolean);
drop table spending;
create table spending (
  channel  text collate "C",
  part     text collate "C",
  day      bigint,  -- its first moment in the programme's time zone
  segments bigint  not null,
  refused  boolean not null, -- a message was too much for the part
  primary key (channel, part, day)
);

-- spend takes segments out of a part of a channel's day unless they make more
-- than _most, where that is not under 0; _must takes them all the same. It gives
-- what is spent then, whether they were taken, and whether they are the day's
-- first that were too much.
create function spend(_channel text, _part text, _day bigint, _segments bigint, _most bigint, _must boolean)
returns table (spent bigint, taken boolean, first boolean) language plpgsql as $$
#variable_conflict use_column
begin
  if not exists (select 1 from spending where channel = _channel and part = _part and day = _day) then
    delete from spending where day < _day - 30 * 86400000000000;
    -- What was sent before this day was first counted, as after a move, is put
    -- to the largest part: what it was for is not known here.
    insert into spending (channel, part, day, segments, refused)
      select _channel, _part, _day, coalesce(sum(segments), 0), false from outgoing
      where channel = _channel and changed >= _day and state in ('handed on', 'delivered', 'failed')
        and _part = 'known' and not exists (select 1 from spending where channel = _channel and day = _day)
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
