import { execFileSync } from 'node:child_process'
import { join, resolve } from 'node:path'
import { scaleStandings } from '#core/evidence/scales/scale-standing.ts'
import { ByteText } from '#core/exchange/documents/byte-text.ts'
import { writeJson } from '#core/exchange/documents/weighing-json.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import type { Finding } from '#core/findings/finding.ts'
import { judgeStore } from '#core/store/assessment.ts'
import { timeNow } from '#core/store/clock.ts'
import { readRecord } from '#core/store/histories.ts'
import { openStore } from '#core/store/open.ts'
import { weighEach } from '#core/store/weigh-each.ts'
import { readAsOf } from '#core/words/day.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import {
  type FindingRow,
  type ScaleRow,
  type TrustRow,
  type WeighedRow,
  findingRows,
  scaleRows,
  trustRows,
  weighedRow,
  weighedRows,
} from '#tests/bed/reports.ts'
import { sayStored } from '#core/words/say.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'

/** What the product says of a fleet on a day, YYYY-MM-DD. */
export interface Judgement {
  readonly findings: readonly FindingRow[]
  readonly trust: readonly TrustRow[]
  readonly scales: readonly ScaleRow[]
}
/** Readings up to the end of a day (UTC), by what was known at it, taken after a moment. */
export interface WeighedSpan {
  /** YYYY-MM-DD */
  readonly day: string
  /** ms UTC */
  readonly after: number
}
export interface Judge {
  on(day: string): Promise<Judgement>
  /** What readings weigh, as `weigh --json` says it: all of them by all that is on record, or as `span` has it. */
  weights(span?: WeighedSpan): Promise<readonly WeighedRow[]>
  close(): Promise<void>
}

const commandLine = resolve(import.meta.dirname, '../../electron/run.js')
const tareline = (...words: string[]): string =>
  execFileSync(process.execPath, [commandLine, 'tareline', ...words], {
    encoding: 'utf8',
    maxBuffer: 1 << 30,
    stdio: ['ignore', 'pipe', 'inherit'],
  })

/** Brings the folder into a file beside it and asks through the command line, as a stranger would. */
export async function judgeByCommand(folder: string): Promise<Judge> {
  const db = join(folder, '..', 'fleet.tareline')
  tareline('import', folder, '--db', db)
  return {
    on: async (day) => ({
      findings: findingRows.parse(JSON.parse(tareline('findings', '--db', db, '--as-of', day, '--json'))),
      trust: trustRows.parse(JSON.parse(tareline('trust', '--db', db, '--as-of', day, '--json'))),
      scales: scaleRows.parse(JSON.parse(tareline('scales', '--db', db, '--as-of', day, '--json'))),
    }),
    weights: async (span) => {
      const asOf = span === undefined ? [] : ['--as-of', span.day]
      const rows = weighedRows.parse(JSON.parse(tareline('weigh', '--db', db, ...asOf, '--json')))
      return span === undefined ? rows : rows.filter(({ taken_at }) => Date.parse(taken_at) > span.after)
    },
    close: async () => {},
  }
}

/** The same by the modules themselves, without a process for every question. */
export const judgeHere = (folder: string): Promise<Judge> => judgeImported(folder, join(folder, '..', 'fleet.tareline'))

function endOf(day: string): number {
  const asOf = readAsOf(day, 'UTC')
  if (asOf === undefined) throw new RangeError(`${day} is not a day`)
  return asOf
}

/** Brings a folder into a file at a place and judges that. */
export async function judgeImported(folder: string, db: string): Promise<Judge> {
  const store = await openStore(db)
  const outcome = await importFolder(store, folder)
  if (outcome.outcome === 'refused') throw new RangeError(outcome.problems[0]?.message ?? 'the folder was refused')
  return {
    on: async (day) => {
      const asOf = endOf(day)
      const { groups: judged, others, estimates } = await judgeStore(store, asOf)
      const groups = [...judged]
      const { scales, tickets, groups: histories } = readRecord(store, { untilMs: asOf })
      const unitOf = new Map(histories.map(({ unitId, unit }) => [unitId, unit]))
      const row = (finding: Finding, unit: string | null, group: string | null): FindingRow => {
        const ticket = finding.ticketId === null ? undefined : tickets.get(finding.ticketId)
        const scaleId = finding.scaleId ?? ticket?.scaleId
        return {
          unit: unit ?? unitOf.get(finding.unitId ?? -1) ?? null,
          group,
          circuit: null,
          ticket: ticket?.number ?? null,
          scale: scaleId === undefined ? null : (scales.get(scaleId)?.name ?? null),
          code: finding.code,
          severity: finding.severity,
          since: finding.since === null ? null : toStoredInstant(finding.since),
          numbers: finding.numbers,
          message: sayFinding(finding, sayStored('UTC')).message,
        }
      }
      return {
        findings: [
          ...groups.flatMap(({ history, findings }) =>
            findings.map((finding) => row(finding, history.unit, history.group)),
          ),
          ...others.map((finding) => row(finding, null, null)),
        ],
        trust: groups.map(({ history, trust, current, ageDays, dueOn, uLimitLb }) => ({
          unit: history.unit,
          group: history.group,
          trust,
          calibrated_at: current === null ? null : toStoredInstant(current.calibration.calibratedAt),
          age_days: ageDays,
          due_on: dueOn,
          a: current?.line.a ?? null,
          b: current?.line.b ?? null,
          u_limit_lb: uLimitLb,
        })),
        scales: scaleStandings(scales.values(), estimates, defaultHouseRules).scales.map((standing) => ({
          scale: scales.get(standing.scaleId)?.name ?? '',
          bias_percent: 100 * standing.gain,
          u_percent: 100 * standing.u,
          verdict: standing.verdict,
          weighings: standing.weighings,
          groups: standing.groups,
          since: standing.since === null ? null : toStoredInstant(standing.since),
        })),
      }
    },
    weights: async (span) => {
      const rows: WeighedRow[] = []
      const out = new ByteText()
      const now = timeNow()
      const made = weighEach(
        store,
        (weighed) => {
          if (span !== undefined && weighed.reading.takenAt <= span.after) return
          out.clear()
          writeJson(out, weighed, now)
          rows.push(weighedRow.parse(JSON.parse(Buffer.from(out.slice()).toString())))
        },
        { asOf: span === undefined ? undefined : endOf(span.day) },
      )
      for await (const _ of made);
      return rows
    },
    close: () => store.close(),
  }
}
