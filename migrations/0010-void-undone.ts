import { type Kysely, sql } from 'kysely'

/**
 * A void is undone like any other step: a calibration still is never edited, but it may become valid again as it was.
 * That no other one is valid of the same time, the index says as before.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await sql`drop trigger calibration_is_append_only`.execute(db)
  await sql`create trigger calibration_is_append_only before update on calibration
    when new.id is not old.id or new.group_id is not old.group_id or new.calibrated_at is not old.calibrated_at
      or new.calibrated_by is not old.calibrated_by or (old.voided_at is null) = (new.voided_at is null)
    begin select raise(abort, 'a calibration is never edited, only voided with a reason, or its void undone'); end`.execute(
    db,
  )
}
