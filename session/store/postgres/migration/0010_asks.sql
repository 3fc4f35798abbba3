-- What the next turn of a phone may ask is kept with its dialogue, and read along
-- with it. What it is found by lies beside the records; those that an earlier
-- version wrote have it when they are next written.
alter table dialogues add column asks text not null default '';
alter table dialogues add column rests bigint not null default 0; -- when a message begins anew
alter table people add column place bigint; -- a number of the district's name; null is not known
alter table people add column name text collate "C" not null default ''; -- as it is looked for
alter table invites add column maker text collate "C" not null default '';
alter table invites add column person text collate "C" not null default '';

drop function write_exchanges(text[], bigint[], bytea[], bigint[], bytea[], int[], bigint[], bytea[], int[],
  int[], text[], text[], bigint[], text[], text[], bigint[], bigint[], bigint[], bigint[], bytea[]);

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
  _n bigint[], _m bigint[], _l bigint[], _c bigint[], _record bytea[], _asks text[] default null, _rests bigint[] default null
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
  if _kind && array['k', 'p'] then
    perform pg_advisory_xact_lock(hashtextextended(current_schema() || ' checks', 0));
    notify threshline;
  end if;
  for x in
    select * from unnest(_phone, _read, _key, _until, _reply, _own, _expires, _value, _changes, _asks, _rests) with ordinality
      as t (phone, read, key, until, reply, own, expires, value, changes, asks, rests, number)
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
          asks = coalesce(x.asks, asks), rests = case when x.asks is null then rests else x.rests end,
          watched = case when x.expires <> never() and (watched = never() or watched > x.expires) then x.expires else watched end
          where phone = x.phone and version = x.read;
      elsif x.own = 1 then
        insert into dialogues (phone, version, expires, watched, value, asks, rests)
          values (x.phone, nextval('dialogue_version'), x.expires, x.expires, x.value, coalesce(x.asks, ''), coalesce(x.rests, 0)) on conflict do nothing;
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
              on conflict (phone) do update set version = excluded.version, expires = o.n, watched = o.n, value = o.value, asks = '';
          end if;
        elsif o.kind = 'r' then
          delete from remindings where id = o.id;
          if o.version = 0 then
            insert into remindings (id, due, value) values (o.id, o.n, o.value);
          end if;
        elsif o.kind = 'p' then
          insert into people (id, version, phone, agent, short, coordinator, named_in, place, name, value)
            values (o.id, o.version + 1, nullif(o.a, ''), nullif(split_part(o.b, E'\t', 1), ''), o.n, o.m = 1, nullif(o.l, 0), nullif(o.c, 0),
              split_part(o.b, E'\t', 2), o.value)
            on conflict (id) do update set version = excluded.version, phone = excluded.phone, agent = excluded.agent,
              short = excluded.short, coordinator = excluded.coordinator, named_in = excluded.named_in, position = excluded.position,
              place = excluded.place, name = excluded.name, value = excluded.value;
        elsif o.kind = 'k' then
          insert into checks (slip, version, position, grower, reporter, at, value)
            values (o.id, o.version + 1, nextval('check_position'), o.a, o.b, o.n, o.value)
            on conflict (slip) do update set version = excluded.version, position = excluded.position,
              grower = excluded.grower, reporter = excluded.reporter, at = excluded.at, value = excluded.value;
        elsif o.kind = 'i' then
          insert into invites (code, version, expires, maker, person, value) values (o.id, o.version + 1, o.n, o.a, o.b, o.value)
            on conflict (code) do update set version = excluded.version, expires = excluded.expires, maker = excluded.maker,
              person = excluded.person, value = excluded.value;
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

-- read_along answers for each phone what its message and its dialogue ask: a line
-- each, of the kind, three digits and what it is about; one with a star before it
-- counts only where there is no dialogue, or one that rests. A row is of a part: k
-- check, o and b checks of a grower and by a reporter, p person, r grower of an
-- agent's, c coordinator, n named agent, m the number of the person's district, h
-- grower whose checks follow, i invitation, d dialogue.
create function read_along(_phone text[], _asks text[], _most int, _now bigint)
returns table (number bigint, place bigint, part text, owner text, id text, version bigint, at bigint, value bytea) language plpgsql stable as $$
#variable_conflict use_column
declare
  a record;
  me record;
  whom text;
begin
  for a in
    select t.number, l.place, t.phone, left(ltrim(l.line, '*'), 1) as kind, substr(ltrim(l.line, '*'), 2, 3)::int as n, substr(ltrim(l.line, '*'), 5) as id
    from unnest(_phone, _asks) with ordinality as t (phone, asks, number)
    left join lateral (select asks, rests from dialogues where phone = t.phone and t.phone <> '' limit 1) d on true
    cross join lateral unnest(string_to_array(rtrim(t.asks || coalesce(d.asks, ''), E'\n'), E'\n')) with ordinality as l (line, place)
    where l.line not like '*%' or d.rests is null or d.rests < _now
  loop
    number := a.number; place := a.place; owner := '';
    if a.kind in ('m', 'r', 'h', 'n') then
      select p.id, p.place into me from people p where p.phone = a.phone;
    end if;
    case a.kind
    when 'k' then
      return query select a.number, a.place, 'k', '', c.slip, c.version, c.position, c.value from checks c where c.slip = a.id;
      return query select a.number, a.place, 'p', '', p.id, p.version, 0::bigint, p.value from checks c join people p on p.id in (c.grower, c.reporter) where c.slip = a.id;
      if a.n > 0 then
        select c.grower into whom from checks c where c.slip = a.id;
        return query select a.number, a.place, 'o', c.grower, c.slip, c.version, c.position, c.value from checks c
          where c.grower = whom order by c.grower, c.at desc, c.slip desc limit a.n;
      end if;
    when 'g' then
      return query select a.number, a.place, 'p', '', p.id, p.version, 0::bigint, p.value from people p where p.id = a.id;
      if a.n > 0 then
        return query select a.number, a.place, 'o', c.grower, c.slip, c.version, c.position, c.value from checks c
          where c.grower = a.id order by c.grower, c.at desc, c.slip desc limit a.n;
      end if;
    when 'm' then
      return query select a.number, a.place, 'o', c.grower, c.slip, c.version, c.position, c.value from checks c
        where c.grower = me.id order by c.grower, c.at desc, c.slip desc limit a.n;
      return query select a.number, a.place, 'b', c.reporter, c.slip, c.version, c.position, c.value from checks c
        where c.reporter = me.id order by c.reporter, c.at desc, c.slip desc limit a.n;
    when 'r' then
      return query select a.number, a.place, 'r', p.agent, p.id, p.version, 0::bigint, p.value from people p where p.agent = me.id order by p.agent, p.short, p.id;
    when 'h' then
      for whom in select p.id from people p where p.agent = me.id
        and (p.short = a.n and a.n > 0 or a.id <> '' and ' ' || p.name like '% ' || a.id || '%')
      loop
        return query select a.number, a.place, 'h', '', whom, 0::bigint, 0::bigint, null::bytea;
        return query select a.number, a.place, 'o', c.grower, c.slip, c.version, c.position, c.value from checks c
          where c.grower = whom order by c.grower, c.at desc, c.slip desc limit _most;
      end loop;
    when 'c' then
      return query select a.number, a.place, 'c', '', p.id, p.version, 0::bigint, p.value from people p where p.coordinator order by p.id;
    when 'n' then
      if a.id <> '' or me.place is not null then
        return query select a.number, a.place, 'm', '', '', coalesce(nullif(a.id, '')::bigint, me.place), 0::bigint, null::bytea;
        return query select a.number, a.place, 'n', '', p.id, p.version, 0::bigint, p.value from people p
          where p.named_in = coalesce(nullif(a.id, '')::bigint, me.place) order by p.id;
      end if;
    when 'i' then
      return query select a.number, a.place, 'i', '', i.code, i.version, 0::bigint, i.value from invites i where i.code = a.id;
      return query select a.number, a.place, 'p', '', p.id, p.version, 0::bigint, p.value from invites i join people p on p.id in (i.maker, i.person) where i.code = a.id;
      return query select a.number, a.place, 'r', p.agent, p.id, p.version, 0::bigint, p.value from invites i join people p on p.agent = i.person
        where i.code = a.id and i.person <> '' order by p.agent, p.short, p.id;
      return query select a.number, a.place, 'd', '', d.phone, d.version, 0::bigint, d.value from invites i join people p on p.id = i.person
        join dialogues d on d.phone = p.phone where i.code = a.id;
    when 't' then
      return query select a.number, a.place, 'p', '', p.id, p.version, 0::bigint, p.value from people p where p.phone = a.id;
      return query select a.number, a.place, 'r', p.agent, p.id, p.version, 0::bigint, p.value from people o join people p on p.agent = o.id
        where o.phone = a.id order by p.agent, p.short, p.id;
      return query select a.number, a.place, 'd', '', d.phone, d.version, 0::bigint, d.value from dialogues d where d.phone = a.id;
    else -- a later version's: it is asked late
    end case;
  end loop;
end $$;
