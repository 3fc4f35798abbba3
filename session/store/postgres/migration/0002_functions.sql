-- never is the time that stands for "none".
create function never() returns bigint language sql immutable parallel safe as 'select (-9223372036854775808)::bigint';

-- clock is the database's clock, the one that all gateways share.
create function clock() returns bigint language sql volatile as
  'select (extract(epoch from clock_timestamp()) * 1000000000)::bigint';

-- write_exchanges writes a group of exchanges in one transaction. Each is
-- checked before any of it is written, so that one that is refused leaves its
-- neighbours alone. An outcome is 0 written, 1 answered before (was is the
-- reply), 2 changed meanwhile, 3 a new record's key is taken, 4 a reminding
-- that is gone.
--
-- A change is of a kind: d another phone's dialogue, r reminding, p person,
-- k check, i invitation, o outgoing message, n note, a account.
create function write_exchanges(
  _phone text[], _read bigint[], _key bytea[], _until bigint[], _reply bytea[],
  _own int[], _expires bigint[], _value bytea[], _changes int[],
  _item int[], _kind text[], _id text[], _version bigint[], _a text[], _b text[],
  _n bigint[], _m bigint[], _l bigint[], _c bigint[], _record bytea[]
) returns table (item int, outcome int, what text, was bytea) language plpgsql as $$
#variable_conflict use_column
declare
  x record;
  o record;
  found_version bigint;
  holder text;
begin
  -- Positions are given and committed in one order, so that whoever reads on
  -- from the last position passes over nothing that commits late.
  if 'k' = any (_kind) then
    perform pg_advisory_xact_lock(hashtextextended(current_schema() || ' checks', 0));
    notify threshline;
  end if;
  for x in
    select * from unnest(_phone, _read, _key, _until, _reply, _own, _expires, _value, _changes) with ordinality
      as t (phone, read, key, until, reply, own, expires, value, changes, number)
  loop
    item := x.number; outcome := 0; what := ''; was := null;
    if x.key is not null then
      insert into duplicates (key, until, reply) values (x.key, x.until, x.reply) on conflict do nothing;
      if not found then
        select d.reply into was from duplicates d where d.key = x.key;
        outcome := case when was is null then 2 else 1 end;
        what := 'duplicate';
        return next;
        continue;
      end if;
    end if;

    if x.changes > 0 then
      for o in
        select * from unnest(_item, _kind, _id, _version, _a, _n, _m) with ordinality
          as t (item, kind, id, version, a, n, m, place)
        where t.item = x.number
        order by case kind when 'd' then 0 when 'r' then 1 when 'p' then 2 when 'k' then 3 else 4 end, place
      loop
        found_version := null;
        if o.kind = 'd' then
          select version into found_version from dialogues where phone = o.id for update;
          if coalesce(found_version, 0) <> o.version then outcome := 2; what := 'dialogue'; end if;
        elsif o.kind = 'r' and o.version = 2 then
          perform 1 from remindings where id = o.id and due = o.n for update;
          if not found then outcome := 4; what := 'reminding'; end if;
        elsif o.kind = 'p' then
          select version into found_version from people where id = o.id for update;
          if coalesce(found_version, 0) <> o.version then
            outcome := 2; what := 'person';
          elsif o.a <> '' then
            select p.id into holder from people p where p.phone = o.a and p.id <> o.id for update;
            if found and not exists (
              select 1 from unnest(_item, _kind, _id, _a) as t (item, kind, id, a)
              where t.item = x.number and t.kind = 'p' and t.id = holder and t.a <> o.a
            ) then outcome := 3; what := 'phone'; end if;
          end if;
        elsif o.kind = 'k' then
          select version into found_version from checks where slip = o.id for update;
          if found_version is not null and o.version = 0 then
            outcome := 3; what := 'slip';
          elsif coalesce(found_version, 0) <> o.version then
            outcome := 2; what := 'check';
          end if;
        elsif o.kind = 'i' then
          select version into found_version from invites where code = o.id for update;
          if coalesce(found_version, 0) <> o.version then outcome := 2; what := 'invite'; end if;
        elsif o.kind = 'a' then
          select version into found_version from accounts where id = o.id for update;
          if coalesce(found_version, 0) <> o.version then outcome := 2; what := 'account'; end if;
        elsif o.kind = 'o' then
          perform 1 from outgoing where id = o.id;
          if found then outcome := 3; what := 'outgoing message'; end if;
        end if;
        exit when outcome <> 0;
      end loop;
    end if;

    if outcome = 0 and x.phone <> '' then
      if x.own = 1 and x.read <> 0 then
        update dialogues set version = nextval('dialogue_version'), expires = x.expires, value = x.value,
          watched = case when x.expires <> never() and (watched = never() or watched > x.expires) then x.expires else watched end
          where phone = x.phone and version = x.read;
      elsif x.own = 1 then
        insert into dialogues (phone, version, expires, watched, value)
          values (x.phone, nextval('dialogue_version'), x.expires, x.expires, x.value) on conflict do nothing;
      elsif x.own = 2 and x.read <> 0 then
        delete from dialogues where phone = x.phone and version = x.read;
      elsif x.read <> 0 then
        perform 1 from dialogues where phone = x.phone and version = x.read;
      else
        perform 1 where not exists (select 1 from dialogues where phone = x.phone);
      end if;
      if not found then outcome := 2; what := 'dialogue'; end if;
    end if;

    if outcome <> 0 then
      if x.key is not null then delete from duplicates where key = x.key; end if;
      return next;
      continue;
    end if;

    if x.changes > 0 then
      -- A phone may pass from one person to another: all let go first.
      update people p set phone = null
        from unnest(_item, _kind, _id, _a) as t (item, kind, id, a)
        where t.item = x.number and t.kind = 'p' and p.id = t.id and p.phone <> t.a;
      for o in
        select * from unnest(_item, _kind, _id, _version, _a, _b, _n, _m, _l, _c, _record) with ordinality
          as t (item, kind, id, version, a, b, n, m, l, c, value, place)
        where t.item = x.number order by place
      loop
        if o.kind = 'd' then
          if o.m = 1 then
            delete from dialogues where phone = o.id;
          else
            insert into dialogues (phone, version, expires, watched, value)
              values (o.id, nextval('dialogue_version'), o.n, o.n, o.value)
              on conflict (phone) do update set version = excluded.version, expires = o.n, watched = o.n, value = o.value;
          end if;
        elsif o.kind = 'r' then
          delete from remindings where id = o.id;
          if o.version = 0 then
            insert into remindings (id, due, value) values (o.id, o.n, o.value);
          end if;
        elsif o.kind = 'p' then
          insert into people (id, version, phone, agent, short, coordinator, value)
            values (o.id, o.version + 1, nullif(o.a, ''), nullif(o.b, ''), o.n, o.m = 1, o.value)
            on conflict (id) do update set version = excluded.version, phone = excluded.phone, agent = excluded.agent,
              short = excluded.short, coordinator = excluded.coordinator, value = excluded.value;
        elsif o.kind = 'k' then
          insert into checks (slip, version, position, grower, reporter, at, value)
            values (o.id, o.version + 1, nextval('check_position'), o.a, o.b, o.n, o.value)
            on conflict (slip) do update set version = excluded.version, position = excluded.position,
              grower = excluded.grower, reporter = excluded.reporter, at = excluded.at, value = excluded.value;
        elsif o.kind = 'i' then
          insert into invites (code, version, expires, value) values (o.id, o.version + 1, o.n, o.value)
            on conflict (code) do update set version = excluded.version, expires = excluded.expires, value = excluded.value;
        elsif o.kind = 'o' then
          insert into outgoing (id, state, lease, leased, created, changed, channel, carrier, segments, value)
            values (o.id, o.a, 0, never(), o.l, o.c, o.b, '', o.version, o.value);
          if o.a = 'queued' then
            insert into queue (id, at, expires) values (o.id, o.n, o.m);
          end if;
        elsif o.kind = 'n' then
          insert into notes (value) values (o.value);
        elsif o.kind = 'a' then
          if o.m = 1 then
            delete from accounts where id = o.id;
          else
            insert into accounts (id, version, value) values (o.id, o.version + 1, o.value)
              on conflict (id) do update set version = excluded.version, value = excluded.value;
          end if;
        end if;
      end loop;
    end if;
    return next;
  end loop;
end $$;

-- claim leases up to _n messages that are due. Those that would come too late
-- are marked on the way. Whoever is at work on a message is passed over.
create function claim(_now bigint, _n int, _lease bigint) returns setof outgoing language plpgsql as $$
#variable_conflict use_column
declare
  _at bigint := case when _now = never() then clock() else _now end;
begin
  with late as (
    select id from queue where expires <> never() and expires <= _at and at <= _at order by expires limit 1000 for update skip locked
  ), gone as (
    delete from queue q using late where q.id = late.id returning q.id
  )
  update outgoing o set state = 'expired', changed = _at, leased = never(), value = coalesce(erased, value) from gone where o.id = gone.id;
  return query
  with due as (
    select id from queue where at <= _at order by at, id limit _n for update skip locked
  ), moved as (
    update queue q set at = _at + _lease from due where q.id = due.id returning q.id
  )
  update outgoing o set lease = o.lease + 1, leased = _at + _lease from moved where o.id = moved.id returning o.*;
end $$;

-- settle stores what became of a claimed message: 0 stored, 2 not the last
-- claim, or settled meanwhile, 4 no such message.
create function settle(
  _id text, _lease bigint, _state text, _channel text, _carrier text, _due bigint, _expires bigint,
  _changed bigint, _segments bigint, _value bytea, _erased bytea
) returns int language plpgsql as $$
#variable_conflict use_column
declare
  was outgoing;
  seen early;
begin
  if _carrier <> '' then
    perform pg_advisory_xact_lock(hashtextextended(current_schema() || ' ' || _channel || ' ' || _carrier, 1));
  end if;
  perform 1 from queue where id = _id for update; -- first, as claim does
  select * into was from outgoing where id = _id for update;
  if not found then return 4; end if;
  if was.state <> 'queued' or was.leased = never() or was.lease <> _lease then return 2; end if;
  if _carrier <> '' then
    insert into carriers (channel, id, message) values (_channel, _carrier, _id)
      on conflict (channel, id) do update set message = excluded.message;
    delete from early where channel = _channel and id = _carrier returning * into seen;
    if found and _state <> 'delivered' and _state <> seen.state and (seen.state <> 'failed' or _state = 'handed on') then
      _state := seen.state; _changed := seen.at;
    end if;
  end if;
  if _state = 'queued' then
    update queue set at = _due, expires = _expires where id = _id;
  else
    delete from queue where id = _id;
  end if;
  update outgoing set state = _state, leased = never(), changed = _changed, channel = _channel, carrier = _carrier,
    segments = _segments, value = case when was.erased is null or _state = 'queued' then _value else _erased end,
    erased = case when was.erased is null then null else _erased end where id = _id;
  return 0;
end $$;

-- receive stores a delivery receipt; one that has no message yet waits for it.
create function receive(_channel text, _carrier text, _state text, _at bigint) returns void language plpgsql as $$
#variable_conflict use_column
declare
  _id text;
  was outgoing;
begin
  perform pg_advisory_xact_lock(hashtextextended(current_schema() || ' ' || _channel || ' ' || _carrier, 1));
  select message into _id from carriers where channel = _channel and id = _carrier;
  perform 1 from queue where id = _id for update;
  select * into was from outgoing where id = _id for update;
  if not found then
    insert into early (channel, id, state, at) values (_channel, _carrier, _state, _at)
      on conflict (channel, id) do update set state = excluded.state, at = excluded.at where early.state <> 'delivered';
    return;
  end if;
  if was.state = 'delivered' or was.state = _state or _state = 'failed' and (was.state <> 'handed on' or was.carrier <> _carrier) then
    return;
  end if;
  delete from queue where id = _id;
  update outgoing set state = _state, changed = _at, leased = never(), value = coalesce(erased, value) where id = _id;
end $$;

-- sweep takes away up to _n things that are over, and says how many it looked
-- at. What another sweep is at is passed over.
create function sweep(_now bigint, _n int, _keep bigint, _early bigint) returns int language plpgsql as $$
#variable_conflict use_column
declare
  left_over int := _n;
  here int;
begin
  with looked as (
    select phone, expires from dialogues where watched <> never() and watched <= _now order by watched limit left_over for update skip locked
  ), gone as (
    delete from dialogues d using looked where d.phone = looked.phone and looked.expires <> never() and looked.expires <= _now returning 1
  ), later as (
    update dialogues d set watched = looked.expires from looked
      where d.phone = looked.phone and (looked.expires = never() or looked.expires > _now) returning 1
  )
  select count(*) into here from looked;
  left_over := left_over - here;
  delete from duplicates where key in (
    select key from duplicates where until <= _now order by until limit left_over for update skip locked);
  get diagnostics here = row_count;
  left_over := left_over - here;
  delete from invites where code in (
    select code from invites where expires <> never() and expires <= _now order by expires limit left_over for update skip locked);
  get diagnostics here = row_count;
  left_over := left_over - here;
  with gone as (
    delete from outgoing where id in (
      select id from outgoing where state <> 'queued' and changed <= _now - _keep order by changed limit left_over for update skip locked)
    returning id
  ), names as (
    delete from carriers c using gone where c.message = gone.id returning 1
  )
  select count(*) into here from gone;
  left_over := left_over - here;
  delete from early where (channel, id) in (
    select channel, id from early where at <= _now - _early order by at limit left_over for update skip locked);
  get diagnostics here = row_count;
  return _n - (left_over - here);
end $$;

-- begin_work takes a lease on work that is to be done every so often, by one
-- gateway for all: the number that finish_work asks for, or 0 when it is not
-- due, or another's.
create function begin_work(_name text, _holder text, _every bigint, _within bigint) returns bigint language plpgsql as $$
#variable_conflict use_column
declare
  _now bigint := clock();
  got bigint;
begin
  insert into leases (name, holder, fence, until, done) values (_name, _holder, 1, _now + _within, never())
    on conflict (name) do update set holder = _holder, fence = leases.fence + 1, until = _now + _within
    where leases.until <= _now and (leases.done = never() or leases.done + _every <= _now)
    returning fence into got;
  return coalesce(got, 0);
end $$;

-- finish_work ends a lease; false when another took it over meanwhile. Work
-- that was not done is left to whoever asks next.
create function finish_work(_name text, _fence bigint, _done boolean) returns boolean language plpgsql as $$
#variable_conflict use_column
begin
  update leases set until = never(), done = case when _done then clock() else done end
    where name = _name and fence = _fence and until <> never();
  return found;
end $$;
