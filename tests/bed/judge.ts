import { execFileSync } from 'node:child_process'
import { join, resolve } from 'node:path'
import { scaleStandings } from '#core/evidence/scales/scale-standing.ts'
import { weighedStretches, writeJson } from '#core/exchange/documents/weighing-json.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import type { Finding } from '#core/findings/finding.ts'
import { judgeStore } from '#core/store/assessment.ts'
import { timeNow } from '#core/store/clock.ts'
import { readRecord } from '#core/store/histories.ts'
import { openStore } from '#core/store/open.ts'
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
export interface Judge {
  on(day: string): Promise<Judgement>
  /** What every reading weighs, as `weigh --json` says it, by all that is on record. */
  weights(): Promise<readonly WeighedRow[]>
  close(): Promise<void>
}

const commandLine = resolve(import.meta.dirname, '../../electron/tareline.ts')
const tareline = (...words: string[]): string =>
  execFileSync(process.execPath, [commandLine, ...words], {
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
    weights: async () => weighedRows.parse(JSON.parse(tareline('weigh', '--db', db, '--json'))),
    close: async () => {},
  }
}

/** The same by the modules themselves, without a process for every question. */
export const judgeHere = (folder: string): Promise<Judge> => judgeImported(folder, join(folder, '..', 'fleet.tareline'))

/** Brings a folder into a file at a place and judges that. */
export async function judgeImported(folder: string, db: string): Promise<Judge> {
  const store = await openStore(db)
  const outcome = await importFolder(store, folder)
  if (outcome.outcome === 'refused') throw new RangeError(outcome.problems[0]?.message ?? 'the folder was refused')
  return {
    on: async (day) => {
      const asOf = readAsOf(day, 'UTC')
      if (asOf === undefined) throw new RangeError(`${day} is not a day`)
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
    weights: async () => {
      const rows: WeighedRow[] = []
      const parts = weighedStretches(store, { write: writeJson, between: ',', asOf: undefined, now: timeNow() })
      for await (const part of parts) {
        const text = Buffer.from(part).toString().replace(/^,/, '')
        rows.push(...weighedRows.parse(JSON.parse(`[${text}]`)))
      }
      return rows
    },
    close: () => store.close(),
  }
}
