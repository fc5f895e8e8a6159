import type Database from 'better-sqlite3'
import type { Stored } from '#core/store/kept-table.ts'
import { addManyRows } from '#core/store/many-rows.ts'
import { numberOf } from '#core/store/rows.ts'

/** One point of a calibration as a file has it, its references found. */
export interface StagedPoint {
  readonly groupId: number
  readonly calibratedAt: string
  readonly by: string | null
  readonly ticketId: number
  readonly readingId: number
  readonly line: number
}

/** groupId, calibratedAt, by, ticketId, readingId, line of one point after another, as they are staged at once. */
export const stagedWidth = 6

interface AtLine {
  readonly line: number
}

/** What stands against keeping the staged calibrations, each with the line to put right. */
export interface StageObjections {
  /** Rows of one calibration name different people. */
  readonly names: readonly (AtLine & { by: string; otherBy: string; otherLine: number })[]
  /** A stored calibration was made by someone else, or by nobody that is known: it is never edited. */
  readonly storedNames: readonly (AtLine & { by: string; storedBy: string | null })[]
  /** A point that the stored calibration does not have. */
  readonly newPoints: readonly (AtLine & { ticket: string })[]
  /** A stored calibration has points that the file leaves out. */
  readonly missingPoints: readonly (AtLine & { calibratedAt: string; missing: number })[]
}

export interface StageCounts {
  /** Points added. */
  readonly added: number
  /** Lines of calibrations that were voided here and are left so, since the file has the same points. */
  readonly voided: readonly AtLine[]
}

/**
 * Calibrations are append-only, so a file's points are gathered first, then compared and added as whole sets. The stage
 * is a temporary table of the connection; nothing of it is in the file.
 */
export function calibrationStage(raw: Database.Database) {
  raw.exec('drop table if exists temp.staged_point')
  raw.exec(`create temp table staged_point (
    group_id integer not null, calibrated_at text not null, ticket_id integer not null, reading_id integer not null,
    calibrated_by text, line integer not null,
    primary key (group_id, calibrated_at, ticket_id, reading_id)) without rowid`)
  const insert = raw.prepare(`insert into temp.staged_point
    (group_id, calibrated_at, calibrated_by, ticket_id, reading_id, line) values (?, ?, ?, ?, ?, ?)
    on conflict do nothing`)
  const addMany = addManyRows(
    raw,
    'insert into temp.staged_point (group_id, calibrated_at, calibrated_by, ticket_id, reading_id, line)',
    stagedWidth,
  )
  const thePoint = 'where group_id = ? and calibrated_at = ? and ticket_id = ? and reading_id = ?'
  const selectPoint = raw.prepare(`select calibrated_by, line from temp.staged_point ${thePoint}`).raw()
  const fillName = raw.prepare(`update temp.staged_point set calibrated_by = ? ${thePoint}`)
  const lines = <T extends AtLine>(sql: string) => raw.prepare(sql).all() as T[]

  const perCalibration = `select group_id, calibrated_at, min(line) as line, max(calibrated_by) as calibrated_by,
      count(*) as points
    from temp.staged_point group by group_id, calibrated_at`
  // A stored calibration as the stage sees it: how many points it has, and how many of those are staged too. Found once:
  // each question needs all of it.
  const compare = () => {
    raw.exec('drop table if exists temp.compared')
    raw.exec(`create temp table compared as
      select s.group_id, s.calibrated_at, s.line, s.calibrated_by, s.points, c.id, c.calibrated_by as stored_by,
        c.voided_at is not null as is_voided,
        (select count(*) from calibration_point p where p.calibration_id = c.id) as stored_points,
        (select count(*) from calibration_point p join temp.staged_point q using (ticket_id, reading_id)
          where p.calibration_id = c.id and q.group_id = s.group_id and q.calibrated_at = s.calibrated_at)
          as shared_points
      from (${perCalibration}) s join calibration c using (group_id, calibrated_at)`)
  }

  const anyStored = (): boolean => numberOf(raw, 'select exists (select 1 from calibration)') === 1

  return {
    /**
     * Stages as many points at once as a statement takes; answers false, and stages none, where one is staged already.
     */
    addMany: (points: readonly Stored[]): boolean => addMany(points) !== undefined,
    /** Stages a point; answers with the name that another row gave the same point, where the two differ. */
    add({
      groupId,
      calibratedAt,
      by,
      ticketId,
      readingId,
      line,
    }: StagedPoint): { otherBy: string; otherLine: number } | undefined {
      if (insert.run(groupId, calibratedAt, by, ticketId, readingId, line).changes === 1 || by === null)
        return undefined
      const [otherBy, otherLine] = selectPoint.get(groupId, calibratedAt, ticketId, readingId) as [
        string | null,
        number,
      ]
      if (otherBy === null) fillName.run(by, groupId, calibratedAt, ticketId, readingId)
      return otherBy === null || otherBy === by ? undefined : { otherBy, otherLine }
    },
    object(): StageObjections {
      const names: StageObjections['names'] =
        lines(`select q.line, q.calibrated_by as "by", o.calibrated_by as otherBy, o.line as otherLine
          from (select group_id, calibrated_at, min(line) as line from temp.staged_point where calibrated_by is not null
            group by group_id, calibrated_at having min(calibrated_by) <> max(calibrated_by)) f
          join temp.staged_point o using (group_id, calibrated_at, line)
          join temp.staged_point q using (group_id, calibrated_at)
          where q.calibrated_by <> o.calibrated_by order by q.line`)
      if (!anyStored()) return { names, storedNames: [], newPoints: [], missingPoints: [] }
      compare()
      return {
        names,
        storedNames: lines(`select min(q.line) as line, s.calibrated_by as "by", s.stored_by as storedBy
          from temp.compared s join temp.staged_point q using (group_id, calibrated_at)
          where not s.is_voided and q.calibrated_by is not null and s.stored_by is not s.calibrated_by
          group by s.group_id, s.calibrated_at, s.calibrated_by, s.stored_by order by 1`),
        newPoints: lines(`select q.line, t.number as ticket
          from temp.compared s join temp.staged_point q using (group_id, calibrated_at)
          join ticket t on t.id = q.ticket_id
          where not s.is_voided and s.shared_points < s.points and (q.ticket_id, q.reading_id) not in
            (select p.ticket_id, p.reading_id from calibration_point p where p.calibration_id = s.id)
          order by q.line`),
        missingPoints:
          lines(`select s.line, s.calibrated_at as calibratedAt, s.stored_points - s.shared_points as missing
          from temp.compared s
          where not s.is_voided and s.shared_points = s.points and s.stored_points > s.shared_points order by s.line`),
      }
    },
    /** Adds the staged calibrations that are new; to be called after `object` has found nothing. */
    keep(): StageCounts {
      // Voided here with the very same points.
      const voidedSame = `select v.* from temp.compared v
        where v.is_voided and v.shared_points = v.points and v.stored_points = v.points`
      const isNew = (one: string) => `not exists (select 1 from calibration c
        where c.group_id = ${one}.group_id and c.calibrated_at = ${one}.calibrated_at and c.voided_at is null)`
      const isFirst = !anyStored()
      const laidAside = isFirst
        ? []
        : lines<AtLine>(`select distinct w.line from (${voidedSame}) w where ${isNew('w')} order by w.line`)
      const firstId = numberOf(raw, 'select ifnull(max(id), 0) + 1 from calibration')
      raw.exec(`insert into calibration (group_id, calibrated_at, calibrated_by)
        select s.group_id, s.calibrated_at, s.calibrated_by from (${perCalibration}) s
        ${isFirst ? '' : `where ${isNew('s')} and s.line not in (select w.line from (${voidedSame}) w)`} order by s.line`)
      const added = raw
        .prepare(`insert into calibration_point (calibration_id, ticket_id, reading_id)
          select c.id, q.ticket_id, q.reading_id
          from calibration c join temp.staged_point q using (group_id, calibrated_at) where c.id >= ?`)
        .run(firstId).changes
      return { added, voided: laidAside }
    },
    drop() {
      raw.exec('drop table if exists temp.staged_point')
      raw.exec('drop table if exists temp.compared')
    },
  }
}
