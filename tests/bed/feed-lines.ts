import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { calibrateGroup } from '#core/evidence/calibrate.ts'
import type { CalibrationFacts, GroupHistory, Observation } from '#core/evidence/history.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { sinceWhen, weightAt } from '#core/evidence/state/best-weight.ts'
import { readPressure } from '#core/evidence/read-pressure.ts'
import { type LifeState, lifeStates, settlingPsi } from '#core/evidence/state/life-states.ts'
import { atReference } from '#core/evidence/state/temperature.ts'
import { opinionOf } from '#core/evidence/state/troubles.ts'
import { mixtureQuantile, probabilityAbove } from '#core/evidence/state/weight-mixture.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { learnEstimates } from '#core/findings/assess-fleet.ts'
import { sourceOf } from '#core/evidence/history.ts'
import { readRecord } from '#core/store/histories.ts'
import { openStore } from '#core/store/open.ts'
import { type HouseRules, defaultHouseRules } from '#core/words/house-rules.ts'
import { everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import { type World, worlds } from '#tests/bed/worlds.ts'

/** Scores of all groups with one kind of fault: of intervals and verdicts since it began, of naming and of dating. */
export interface KindScore {
  groups: number
  named: number
  dated: number
  within: number
  inside: number
  readings: number
  held: number
  lineHeld: number
  square: number
  lineSquare: number
  /** What the reading's own pressure alone would leave. */
  floor: number
  sure: number
  wrong: number
}
const emptyScore = (): KindScore => ({
  groups: 0,
  named: 0,
  dated: 0,
  within: 0,
  inside: 0,
  readings: 0,
  held: 0,
  lineHeld: 0,
  square: 0,
  lineSquare: 0,
  floor: 0,
  sure: 0,
  wrong: 0,
})

/** Kinds that move a line without a word in the record. */
const moved = new Set(['sensor-offset', 'slope-change', 'sensor-drift', 'work-unrecorded', 'offset-1000-lb'])
const slipped = new Set(['digits-transposed', 'groups-swapped', 'kpa-as-psi'])

function lineWeight(
  history: GroupHistory,
  { takenAt }: Observation,
  psi: number,
  rules: HouseRules,
  levelingPsi: number,
) {
  const calibration: CalibrationFacts | undefined = history.calibrations.findLast(
    ({ calibratedAt }) => calibratedAt <= takenAt,
  )
  if (calibration === undefined) return null
  const line = calibrateGroup(history, calibration, () => undefined, rules, levelingPsi)
  if (!line.ok) return null
  const { a, b, uA, uB, covAB } = line.value.line
  return {
    weightLb: a + b * psi,
    u: Math.sqrt(uA * uA + psi * psi * uB * uB + 2 * psi * covAB + (b * levelingPsi) ** 2),
  }
}

/** Feeds every group of one simulated fleet to the engine and scores it by kind of fault. */
export async function feedFleet(
  seed: string,
  faults: boolean,
  units: number,
  world: World = 'ordinary',
): Promise<Map<string, KindScore>> {
  const home = mkdtempSync(join(tmpdir(), 'tareline-lines-'))
  try {
    const truth = simulateFleet({
      folder: join(home, 'fleet'),
      seed,
      units,
      months: 24,
      faults: faults ? everyFault(Math.floor(units / 36)) : {},
      readingsPerDay: 0.12,
      ...worlds[world],
    })
    const store = await openStore(join(home, 'fleet.tareline'))
    try {
      const outcome = await importFolder(store, join(home, 'fleet'))
      if (outcome.outcome === 'refused') throw new RangeError(outcome.problems[0]?.message ?? 'refused')
      const record = readRecord(store, { untilMs: Date.parse(`${truth.lastDay}T23:59:59.999Z`) })
      const rules = defaultHouseRules
      const estimates = learnEstimates(sourceOf(record), rules)
      const names = new Map(
        (await store.db.selectFrom('reading').select(['id', 'name']).execute()).map(({ id, name }) => [id, name]),
      )
      const lbOf = new Map(
        truth.weighings.flatMap(({ reading, groups }) =>
          groups.map(({ unit, group, weightLb }) => [`${reading} ${unit} ${group}`, weightLb] as const),
        ),
      )
      const facts = { rules, scales: record.scales, tickets: record.tickets, estimates }
      const scores = new Map<string, KindScore>()
      for (const history of record.groups) {
        const faultsHere = truth.planted.filter(({ unit, group }) => unit === history.unit && group === history.group)
        const fault = faultsHere[0]
        const kind = fault === undefined ? 'clean' : fault.kind
        const score = scores.get(kind) ?? emptyScore()
        scores.set(kind, score)
        score.groups += 1
        const lives = lifeStates(history, null, facts)
        const faultAt = fault === undefined ? Number.NEGATIVE_INFINITY : Date.parse(fault.startedAt)
        let named = false
        for (const life of lives) {
          const { state } = life
          const since = sinceWhen(state)
          if (since !== null && since.probability > 0.5 && (fault === undefined || !slipped.has(kind))) {
            named = true
            if (moved.has(kind)) {
              score.dated += 1
              const place = (at: number) => life.series.points.filter((point) => point.at <= at).length
              if (Math.abs(place(since.at) - place(faultAt)) <= 1) score.within += 1
              if (since.from <= faultAt && faultAt <= since.until) score.inside += 1
            }
          }
          for (let place = 0; place < life.series.points.length; place += 1) {
            const { slip, wild } = opinionOf(state, place)
            if (fault === undefined ? slip > 0.9 || wild > 0.9 : slipped.has(kind) && slip + wild > 0.5) {
              if (fault === undefined) named = true
              else {
                const observation = life.observations[place] as Observation
                if (Math.abs(observation.takenAt - faultAt) < 3_600_000) named = true
              }
            }
          }
          readAll(history, life)
        }
        if (named) score.named += 1

        function readAll(of: GroupHistory, life: LifeState) {
          const limitLb = groupLimitLb(of, rules)
          for (const observation of of.observations) {
            if (observation.ticketId !== null || observation.takenAt < faultAt) continue
            if (observation.takenAt < life.from || observation.takenAt >= life.until) continue
            const truthLb = lbOf.get(`${names.get(observation.readingId)} ${of.unit} ${of.group}`)
            const read = readPressure(of, life.line, observation, rules.pressureResolutionPsi)
            if (truthLb === undefined || !('psi' in read)) continue
            const by = lineWeight(of, observation, read.psi, rules, life.noise.levelingPsi)
            if (by === null) continue
            const { psi, variance } = atReference(life.weather, read.psi, observation.temperatureF)
            const pressure = { uPsi: Math.sqrt(read.resolutionVarPsi2 + settlingPsi(life.noise) ** 2 + variance) }
            const mixture = weightAt(life.state, observation.takenAt, psi, pressure.uPsi)
            const over = probabilityAbove(mixture, limitLb)
            score.readings += 1
            if (mixtureQuantile(mixture, 0.025) <= truthLb && truthLb <= mixtureQuantile(mixture, 0.975))
              score.held += 1
            if (Math.abs(by.weightLb - truthLb) <= 1.96 * by.u) score.lineHeld += 1
            score.square += (mixture.weightLb - truthLb) ** 2
            score.floor += (life.series.slopeLbPerPsi * pressure.uPsi) ** 2
            score.lineSquare += (by.weightLb - truthLb) ** 2
            if (over >= 0.95 || over <= 0.05) {
              score.sure += 1
              if (over >= 0.95 !== truthLb > limitLb) score.wrong += 1
            }
          }
        }
      }
      return scores
    } finally {
      await store.close()
    }
  } finally {
    rmSync(home, { recursive: true, force: true })
  }
}

if (import.meta.main) {
  const { values } = parseArgs({
    options: { seeds: { type: 'string', default: '2' }, units: { type: 'string', default: '400' } },
  })
  const total = new Map<string, KindScore>()
  for (let seed = 1; seed <= Number(values.seeds); seed += 1) {
    for (const faults of [true, false]) {
      for (const [kind, score] of await feedFleet(`lines ${seed} ${faults}`, faults, Number(values.units))) {
        const sum = total.get(kind) ?? emptyScore()
        total.set(kind, sum)
        for (const key of Object.keys(sum) as (keyof KindScore)[]) sum[key] += score[key]
      }
    }
  }
  const percent = (a: number, b: number): string => (b === 0 ? '-' : `${((100 * a) / b).toFixed(1)}`)
  for (const [kind, s] of total)
    console.log(
      `${kind.padEnd(18)} groups ${s.groups} named ${percent(s.named, s.groups)} within ${percent(s.within, s.dated)} inside ${percent(s.inside, s.dated)} coverage ${percent(s.held, s.readings)} (line ${percent(s.lineHeld, s.readings)}) rms ${Math.sqrt(s.square / s.readings).toFixed(0)} of ${Math.sqrt(s.lineSquare / s.readings).toFixed(0)} = ${Math.sqrt(s.square / s.lineSquare).toFixed(2)} floor ${Math.sqrt(s.floor / s.readings).toFixed(0)} sure ${percent(s.sure, s.readings)} wrong ${percent(s.wrong, s.sure)}`,
    )
}
