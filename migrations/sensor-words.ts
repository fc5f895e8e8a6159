/** SQL that writes the words of some sensors anew: small letters of its serial and of where it sits now. */
export const writeSensorWords = (which: string): string =>
  `insert into sensor_words select s.id, lower(concat_ws(' ', s.serial, u.number, g.name, c.name)) from sensor s
    left join mount m on m.id = (select max(id) from mount where sensor_id = s.id and removed_at is null)
    left join circuit c on c.id = m.circuit_id
    left join axle_group g on g.id = c.group_id
    left join unit u on u.id = g.unit_id
    where ${which} on conflict (sensor_id) do update set words = excluded.words`
