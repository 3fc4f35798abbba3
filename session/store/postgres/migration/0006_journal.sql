-- People get positions too, as checks have them, in the order in which they are
-- committed: a gateway's journal follows both.
alter table about add column journal bytea; -- the id of the gateways' journals; null before the first
create sequence person_position;
alter table people add column position bigint not null default nextval('person_position');
create unique index people_position on people (position);

-- write_exchanges writes a group of exchanges in one transaction. Each is
-- checked before any of it is written, so that one that is refused leaves its
-- neighbours alone. An outcome is 0 written, 1 answered before (was is the
-- reply), 2 changed meanwhile, 3 a new record's key is taken, 4 a reminding
-- that is gone.
--
-- A change is of a kind: d another phone's dialogue, r reminding, p person,
-- k check, i invitation, o outgoing message, n note, a account.
create or replace function write_exchanges(
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
  if _kind && array['k', 'p'] then
    perform pg_advisory_xact_lock(hashtextextended(current_schema() || ' checks', 0));
  end if;
  if 'k' = any (_kind) then
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
              short = excluded.short, coordinator = excluded.coordinator, value = excluded.value, position = excluded.position;
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
