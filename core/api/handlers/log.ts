import { viewChange } from '#core/api/log-view.ts'
import { onFleet, onChange } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import type { LogFilterInput } from '#core/contracts/log.ts'
import type { Caller } from '#core/door/door.ts'
import { logCsv } from '#core/exchange/documents/log-csv.ts'
import type { FindingCode } from '#core/findings/finding.ts'
import { findingKey } from '#core/findings/set-aside.ts'
import { undoesAnybodys } from '#core/people/roles.ts'
import { type ChangeFilter, countChanges, eachChange, listChanges, listPeople } from '#core/store/change-log.ts'
import { dismissFinding, findStoredFinding } from '#core/store/dismissals.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { readLogNames } from '#core/store/log-names.ts'
import type { Store } from '#core/store/open.ts'
import { lastStep, undoProblem, undoStep } from '#core/store/undo.ts'
import { unitByNumber } from '#core/store/unit-sheet.ts'
import { readZone } from '#core/store/zone.ts'
import { dayOf } from '#core/words/day.ts'
import { toStoredInstant, typedInstantMs } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { sayOfRules, sayStored } from '#core/words/say.ts'
import { saidOf } from '#core/words/sentences/findings.ts'
import { phrase } from '#core/words/phrase.ts'

const mostPeople = 12
/** Changes of a step that are told one by one. */
const shownOfStep = 6

const storedInstant = (typed: string | undefined): string | undefined =>
  typed === undefined ? undefined : toStoredInstant(typedInstantMs(typed))

async function filterOf({ db }: Store, { unit, subject, text, from, to }: LogFilterInput): Promise<ChangeFilter> {
  const found = unit === undefined ? undefined : await unitByNumber(db, unit)
  return { unitId: found?.id, subject, text, from: storedInstant(from), to: storedInstant(to) }
}

/** Whose saves may be taken back from a desk of the house: one's own, a manager anybody's (undefined). */
const onlyOf = (caller: Caller | undefined): string | undefined =>
  caller?.session && !undoesAnybodys(caller.session.role) ? caller.session.name : undefined

export const logHandlers = {
  list: procedures.log.list.handler(
    onFleet(async (store, { after, limit = 100, ...input }) => {
      const filter = await filterOf(store, input)
      const say = sayOfRules(await readHouseRules(store.db))
      // One more than asked for tells whether there is another page.
      const rows = await listChanges(store.db, filter, { after, limit: limit + 1 })
      const page = rows.slice(0, limit)
      const names = await readLogNames(store.db, page)
      return {
        total: await countChanges(store.db, filter),
        next: rows.length > limit ? (page.at(-1)?.id ?? null) : null,
        rows: page.map((row) => viewChange(row, say, names)),
      }
    }),
  ),
  export: procedures.log.export.handler(
    onFleet(async (store, input, { now }) => {
      let rows = 0
      const zone = await readZone(store.db)
      const say = sayStored(zone)
      async function* stretches(filter: ChangeFilter) {
        for await (const stretch of eachChange(store.db, filter)) {
          rows += stretch.length
          const names = await readLogNames(store.db, stretch)
          yield stretch.map((row) => viewChange(row, say, names))
        }
      }
      const parts: string[] = []
      for await (const part of logCsv(stretches(await filterOf(store, input)))) parts.push(part)
      return {
        rows,
        file: new File(parts, `change-log-${dayOf(now, zone)}.csv`, { type: 'text/csv' }),
      }
    }),
  ),
  last: procedures.log.last.handler(
    onFleet(async (store, _, { caller }) => {
      const step = await lastStep(store.db, onlyOf(caller))
      if (!step) return null
      const { revision, at, by, changes } = step
      const say = sayOfRules(await readHouseRules(store.db))
      const shown = changes.slice(0, shownOfStep)
      const names = await readLogNames(store.db, shown)
      const entries = shown.map((change) => viewChange({ ...change, unit: null }, say, names))
      return { revision, at, by, entries, more: changes.length - entries.length, problem: undoProblem(step) }
    }),
  ),
  undo: procedures.log.undo.handler(
    onChange(async (store, { revision, by }, { now, caller }) => {
      const only = onlyOf(caller)
      if (only !== undefined && (await lastStep(store.db, only))?.revision !== revision)
        throw new TarelineError(
          'not-yours',
          phrase(
            'This is not the last of your own saves; what others saved is undone by a manager. Nothing was undone.',
          ),
        )
      await store.db.transaction().execute((db) => undoStep(db, revision, { by, at: toStoredInstant(now) }))
      return { undone: true as const }
    }),
  ),
  people: procedures.log.people.handler(onFleet(({ db }) => listPeople(db, mostPeople))),
}

export const findingHandlers = {
  dismiss: procedures.finding.dismiss.handler(
    onChange(async (store, input, { now }) => {
      const found = await findStoredFinding(store.db, input.id)
      if (!found)
        throw new TarelineError(
          'no-such-finding',
          phrase('This finding is no longer there: the record has changed meanwhile. Look at the newest findings.'),
        )
      if (found.severity === 'stop')
        throw new TarelineError(
          'cannot-dismiss',
          phrase('This finding asks for work and cannot be set aside: calibrate the group, and it goes.'),
        )
      await store.db.transaction().execute((db) =>
        dismissFinding(db, found.unit_id, saidOf(found), {
          findingKey: findingKey({
            code: found.code as FindingCode,
            unitId: found.unit_id,
            groupId: found.group_id,
            circuitId: found.circuit_id,
            scaleId: found.scale_id,
            ticketId: found.ticket_id,
          }),
          evidence: found.evidence,
          reason: input.reason,
          by: input.by,
          at: toStoredInstant(now),
        }),
      )
      return { dismissed: true as const }
    }),
  ),
}
