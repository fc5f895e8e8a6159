import type { LocalDay } from '#core/words/day.ts'
import type { Say } from '#core/words/say.ts'
import { sayLineProblem } from '#core/words/sentences/line-problems.ts'
import { type Advice, type Entry, type Facts, type FactsOf, workDone } from '#core/words/sentences/sentence.ts'
import { count } from '#core/words/text.ts'

const entry = <F extends Facts = Facts>(write: Entry<F, Advice>): Entry<F, Advice> => write

const moreOrLess = (difference: number) => (difference > 0 ? 'more' : 'less')

/** How a sentence names the line: by its lift state where it has one, since the group may have a line for each. */
const lineOf = (lift: string | null): string =>
  lift === 'raised' || lift === 'lowered' ? `the line with the lift axle ${lift}` : 'this line'

/** What a change of a kind looks like in the weights; nothing where the kind is not clear. */
const changeWords = (kind: string | null): string => {
  if (kind === 'drift') return ', and drifts on'
  if (kind === 'slope') return ', more so the heavier it stands'
  return kind === 'offset' ? ', by about as much at every load' : ''
}

const missed = (
  { at, weightLb, missLb, psi }: { at: number; weightLb: number; missLb: number; psi: number },
  say: Say,
): string =>
  `On ${say.day(at)} the scale showed ${say.ticket(weightLb)}, ${say.weight(Math.abs(missLb))} ` +
  `${moreOrLess(missLb)} than expected at ${say.pressure(psi)}`

const missedTogether = (
  { at, withGroup, sumLb, missLb }: { at: number; withGroup: string; sumLb: number; missLb: number },
  say: Say,
): string =>
  `On ${say.day(at)} the scale showed ${say.ticket(sumLb)} for this group and ${withGroup} on one platform, ` +
  `${say.weight(Math.abs(missLb))} ${moreOrLess(missLb)} than their two lines add up to`

const cellOf = (cell: string | null, serial: string): string =>
  `The ${cell === null ? 'cell' : `${cell} cell`} of sensor ${serial}`

type CellFacts = {
  serial: string
  cell: string | null
  ageDays: number
  /** 'mounting' where no change is recorded, so that the age counts from the mounting. */
  countedFrom: 'change' | 'mounting'
  riskPercent: number
  visitAt: number
  visit: 'planned' | 'assumed'
}

const cellAge = ({ ageDays, countedFrom }: CellFacts): string =>
  `${count(ageDays, 'day')} old${countedFrom === 'mounting' ? ' (no change recorded; counted from the mounting)' : ''}`

const cellVisit = ({ visit, visitAt }: CellFacts, say: Say): string =>
  `${visit === 'assumed' ? 'a visit on' : 'the visit planned on'} ${say.day(visitAt)}`

const cellRisk = (facts: CellFacts, say: Say): string =>
  `its risk of dying before ${cellVisit(facts, say)} is ${facts.riskPercent.toFixed(facts.riskPercent < 10 ? 1 : 0)} %`

/** What a cell is whose sensor fell silent. */
export const deadCell = (since: number, say: Say): string =>
  `most likely dead: its sensor has been silent since ${say.day(since)}`

const swapCell = (when: string): string =>
  `Swap the cell ${when} and record the swap with its reason. Keep new and used coin cells out of children’s reach: ` +
  'a swallowed one can kill within hours.'

/**
 * Every sentence of a finding in US English, by its code and the variant of the case. Another language is another
 * object of the same shape, `FindingSentences`.
 */
export const findingSentences = {
  'no-calibration': {
    never: entry(() => ({
      message: 'This group has a sensor but no calibration: its pressures cannot be turned into weights.',
      nextStep: 'Weigh the unit empty and loaded, note the pressures each time, and calibrate.',
    })),
    'no sensor': entry(() => ({
      message: 'This group has an air circuit, but no sensor and no calibration yet: it cannot be weighed by pressure.',
      nextStep: 'Mount a sensor, or read a gauge on the circuit; then weigh empty and loaded, and calibrate.',
    })),
    'no line': entry<{ code: string; value: string; message: string }>((problem, say) => ({
      message: `None of its calibrations makes a line: ${sayLineProblem(problem, say)}`,
      nextStep: 'Weigh the unit empty and loaded, note the pressures each time, and calibrate.',
    })),
  },
  'event-since-calibration': {
    /** circuit: where the group has several; more: how much work followed. */
    work: entry<{
      at: number
      kind: string
      serial: string | null
      circuit: string | null
      more: number
      calibratedAt: number
    }>(({ at, kind, serial, circuit, more, calibratedAt }, say) => ({
      message:
        `On ${say.day(at)} ${workDone(kind, serial)}${circuit === null ? '' : ` on circuit ${circuit}`}` +
        `${more > 0 ? ` (and ${say.number(more)} more since)` : ''}, ` +
        `after the calibration of ${say.day(calibratedAt)}: the line no longer describes the group.`,
      nextStep: 'Weigh empty and loaded with readings, and calibrate again before trusting its weights.',
    })),
    /** at: when the sensor is said to have come; readAt: when its circuit was read already, and no other sat there. */
    'mounted late': entry<{ at: number; serial: string; readAt: number; circuit: string | null; calibratedAt: number }>(
      ({ at, serial, readAt, circuit, calibratedAt }, say) => ({
        message:
          `Sensor ${serial} is recorded as mounted ${say.moment(at)}, yet${
            circuit === null ? ' its circuit' : ` circuit ${circuit}`
          } was read ${say.moment(readAt)} for the calibration of ${say.day(calibratedAt)}, when no other sensor sat ` +
          'there: the date of the mounting is the likely error. As recorded, the line no longer describes the group.',
        nextStep:
          `If ${serial} sat there already, correct the date of its mounting; if the pressures came off a gauge, weigh ` +
          'empty and loaded again with its readings, and calibrate.',
      }),
    ),
  },
  'wrong-pressure-unit': {
    /** typedPsi: the number that was typed, as it is stored; unit: the one that it fits. */
    one: entry<{ at: number; typedPsi: number; fitsPsi: number; unit: string }>(
      ({ at, typedPsi, fitsPsi, unit }, say) => ({
        message:
          `The pressure ${say.pressure(typedPsi)} of ${say.day(at)} looks like ${unit} typed as another ` +
          `unit: ${say.pressure(fitsPsi)} would fit the line.`,
        nextStep: `Look at the gauge's unit; if it showed ${unit}, correct the reading to ${say.pressure(fitsPsi)}.`,
      }),
    ),
    all: entry<{ at: number; typedPsi: number; fitsPsi: number; unit: string }>(
      ({ at, typedPsi, fitsPsi, unit }, say) => ({
        message:
          `The pressures of ${say.day(at)}, ${say.pressure(typedPsi)} in the mean, ` +
          `look like ${unit} typed as another unit: ${say.pressure(fitsPsi)} would fit the line.`,
        nextStep: `Look at the gauge's unit; if it showed ${unit}, enter each pressure again with its unit behind it.`,
      }),
    ),
  },
  'groups-swapped': {
    ticket: entry<{ at: number; typedLb: number; fitsLb: number }>(({ at, typedLb, fitsLb }, say) => ({
      message:
        `On the ticket of ${say.day(at)} this group has ${say.ticket(typedLb)}, which does not fit; ` +
        `the ${say.ticket(fitsLb)} of another group on that ticket would. The two look swapped.`,
      nextStep: 'Compare the ticket with the paper; if the two weights were swapped, put each where it belongs.',
    })),
  },
  'digits-transposed': {
    ticket: entry<{ at: number; typedLb: number; fitsLb: number }>(({ at, typedLb, fitsLb }, say) => ({
      message:
        `The ticket of ${say.day(at)} has ${say.ticket(typedLb)} for this group, which does not fit; ` +
        `${say.ticket(fitsLb)}, with two digits of the printed weight the other way round, would.`,
      nextStep: `Compare the ticket with the paper; if it says ${say.ticket(fitsLb)}, correct the ticket.`,
    })),
  },
  'altitude-uncorrected': {
    /** psiPerFt: what the air's pressure falls by near sea level. */
    'no elevation': entry<{ readings: number; psiPerFt: number }>(({ readings, psiPerFt }, say) => ({
      message:
        `${count(readings, 'reading')} of its absolute sensor ${readings === 1 ? 'has' : 'have'} no ` +
        `elevation and cannot be used: each ${say.elevation(say.climbFt)} is worth about ` +
        `${say.pressure(psiPerFt * say.climbFt)}.`,
      nextStep: 'Enter the elevation of the place with the reading, or of the scale once for all its tickets.',
    })),
    'yard stands in': entry<{ readings: number; from: number; psiPerFt: number }>(
      ({ readings, from, psiPerFt }, say) => ({
        message:
          `${count(readings, 'reading')} of its absolute sensor since ${say.day(from)} ` +
          `${readings === 1 ? 'has' : 'have'} no elevation: that of the yard stands in, and each ` +
          `${say.elevation(say.climbFt)} from it is worth about ${say.pressure(psiPerFt * say.climbFt)}.`,
        nextStep: 'Enter the elevation of the place with each reading.',
      }),
    ),
    'absolute on record as gauge': entry<{ missPsi: number }>(({ missPsi }, say) => ({
      message:
        `Between its lowest and highest scale the line misses by ${say.pressure(missPsi)}, ` +
        'as that of an absolute sensor read as gauge does.',
      nextStep: "Look up the sensor's type; it is on record as gauge.",
    })),
    'gauge on record as absolute': entry<{ missPsi: number }>(({ missPsi }, say) => ({
      message:
        `Between its lowest and highest scale the line misses by ${say.pressure(missPsi)}, ` +
        'as that of a gauge sensor read as absolute does.',
      nextStep: "Look up the sensor's type; it is on record as absolute.",
    })),
  },
  'checks-drifting': {
    /**
     * missLb: scale less line, mean of the last `checks`; lift: of the line; at: the most probable moment, with its
     * 95 % interval.
     */
    change: entry<{
      at: number
      from: number
      until: number
      kind: string | null
      missLb: number
      checks: number
      lift: string | null
    }>(({ at, from, until, kind, missLb, checks, lift }, say) => ({
      message:
        `Since about ${say.day(at)} (95 %: ${say.day(from)} to ${say.day(until)}) the scale has ` +
        `shown ${say.weight(Math.abs(missLb))} ${moreOrLess(missLb)} than ${lineOf(lift)} reads (mean of ` +
        `the last ${count(checks, 'check')})${changeWords(kind)}: the line no longer holds.`,
      nextStep:
        'Look for a leak, a moved ride height or a tired sensor; then weigh empty and loaded and calibrate again.',
    })),
    /**
     * By weights of two groups on one platform. at: of the first that lies off; missLb: scale less both best weights,
     * the mean; uMissLb: its standard uncertainty.
     */
    together: entry<{ at: number; withGroup: string; missLb: number; uMissLb: number; weighings: number }>(
      ({ at, withGroup, missLb, uMissLb, weighings }, say) => ({
        message:
          `Since ${say.day(at)} the scale has shown ${say.weight(Math.abs(missLb))} (95 %: ${say.plusMinus(uMissLb)}) ` +
          `${moreOrLess(missLb)} for this group and ${withGroup} on one platform than the two lines add up to ` +
          `(mean of ${count(weighings, 'ticket')}): one of the two lines has moved, or both.`,
        nextStep:
          `Weigh this group and ${withGroup} apart, each on a platform of its own, and note both pressures: that ` +
          'tells which line moved. Then calibrate that one again.',
      }),
    ),
    /** As kept by versions before the state of the line was followed. */
    shift: entry<{ from: number; missLb: number; checks: number; lift: string | null }>(
      ({ from, missLb, checks, lift }, say) => ({
        message:
          `Since ${say.day(from)} the scale has shown ${say.weight(Math.abs(missLb))} ${moreOrLess(missLb)} ` +
          `than ${lineOf(lift)} reads (mean of the last ${count(checks, 'check')}): the line no longer holds.`,
        nextStep:
          'Look for a leak, a moved ride height or a tired sensor; then weigh empty and loaded and calibrate again.',
      }),
    ),
  },
  'check-missed': {
    /** chancePercent: of checks that chance alone would do that to, a bound. */
    open: entry<{ at: number; weightLb: number; missLb: number; psi: number; chancePercent: number }>((facts, say) => ({
      message:
        `${missed(facts, say)}; chance alone would do that in less than ${say.percent(facts.chancePercent)} ` +
        'of checks.',
      nextStep: 'Compare the ticket and the pressure with the paper, then weigh once more to see whether it stays.',
    })),
    answered: entry<{ at: number; weightLb: number; missLb: number; psi: number }>((facts, say) => ({
      message: `${missed(facts, say)}; later checks agree with the line.`,
      nextStep: 'Compare that ticket and its pressure with the paper.',
    })),
    /** Of two groups on one platform. */
    together: entry<{ at: number; withGroup: string; sumLb: number; missLb: number; chancePercent: number }>(
      (facts, say) => ({
        message:
          `${missedTogether(facts, say)}; chance alone would do that in less than ` +
          `${say.percent(facts.chancePercent)} of such weighings. Which of the two is off it cannot tell.`,
        nextStep:
          'Compare the ticket and both pressures with the paper, then weigh the two groups apart, each on a platform ' +
          'of its own.',
      }),
    ),
    'together answered': entry<{ at: number; withGroup: string; sumLb: number; missLb: number }>((facts, say) => ({
      message: `${missedTogether(facts, say)}; both have been weighed apart since, which tells more.`,
      nextStep: 'Compare that ticket and its pressures with the paper.',
    })),
  },
  'points-disagree': {
    /** residualLb: how far the worst point lies above the line. */
    line: entry<{ points: number; calibratedAt: number; weightLb: number; psi: number; residualLb: number }>(
      ({ points, calibratedAt, weightLb, psi, residualLb }, say) => ({
        message:
          `The ${count(points, 'point')} of the line of ${say.day(calibratedAt)} do not lie on one line: ` +
          `${say.ticket(weightLb)} at ${say.pressure(psi)} is ${say.weight(Math.abs(residualLb))} ` +
          `${residualLb > 0 ? 'above' : 'below'} it.`,
        nextStep: 'Compare that ticket and its pressure with the paper; if both are right, weigh and calibrate again.',
      }),
    ),
  },
  'line-moved': {
    /** shiftLb: later less earlier line; times: what chance explains. */
    unexplained: entry<{ laterAt: number; earlierAt: number; shiftLb: number; near: 'limit' | 'empty'; times: number }>(
      ({ laterAt, earlierAt, shiftLb, near, times }, say) => ({
        message:
          `The calibration of ${say.day(laterAt)} reads ${say.weight(Math.abs(shiftLb))} ` +
          `${moreOrLess(shiftLb)} ${near === 'limit' ? 'near the limit' : 'near empty'} than that of ` +
          `${say.day(earlierAt)}, ${times.toFixed(1)} times what chance explains, ` +
          'and no work is on record between them.',
        nextStep: 'Ask the shop what was done between the two; record it, or look at valve, ride height and sensor.',
      }),
    ),
  },
  'slope-implausible': {
    falls: entry<{ calibratedAt: number; slopeLbPerPsi: number }>(({ calibratedAt, slopeLbPerPsi }, say) => ({
      message: `The line of ${say.day(calibratedAt)} falls as pressure rises (${say.slope(slopeLbPerPsi)}).`,
      nextStep: 'Check the tickets and the pressure unit of this calibration, and the air springs on record.',
    })),
    springs: entry<{ calibratedAt: number; slopeLbPerPsi: number; ratio: number }>(
      ({ calibratedAt, slopeLbPerPsi, ratio }, say) => ({
        message:
          `The line of ${say.day(calibratedAt)} gains ${say.slope(slopeLbPerPsi)}, ` +
          `${say.ratio(ratio)} times what its air springs can carry for that pressure.`,
        nextStep: 'Check the tickets and the pressure unit of this calibration, and the air springs on record.',
      }),
    ),
  },
  'line-unlike-family': {
    slope: entry<{ calibratedAt: number; slopeLbPerPsi: number; usualLbPerPsi: number; groups: number }>(
      ({ calibratedAt, slopeLbPerPsi, usualLbPerPsi, groups }, say) => ({
        message:
          `The line of ${say.day(calibratedAt)} rises by ${say.slope(slopeLbPerPsi)}; ` +
          `${count(groups, 'group')} with the same springs lie around ${say.slope(usualLbPerPsi)}.`,
        nextStep:
          'Check the tickets and pressures of this calibration, and whether its air springs are the ones on record.',
      }),
    ),
    start: entry<{ calibratedAt: number; startLb: number; usualLb: number; groups: number }>(
      ({ calibratedAt, startLb, usualLb, groups }, say) => ({
        message:
          `The line of ${say.day(calibratedAt)} starts at ${say.weight(startLb)}; ` +
          `${count(groups, 'group')} with the same springs lie around ${say.weight(usualLb)}.`,
        nextStep:
          'Check the tickets and pressures of this calibration, and whether its air springs are the ones on record.',
      }),
    ),
  },
  'side-imbalance': {
    circuits: entry<{ from: number; high: string; low: string; differencePsi: number; allowedPsi: number }>(
      ({ from, high, low, differencePsi, allowedPsi }, say) => ({
        message:
          `Since ${say.day(from)} circuit ${high} has stood ${say.pressure(differencePsi)} above ${low}; ` +
          `${say.pressure(allowedPsi)} is allowed.`,
        nextStep:
          'Look for a leveling valve or link out of setting, a leaking spring or a load off centre; ' +
          'compare both sensors with a gauge.',
      }),
    ),
  },
  'scale-biased': {
    /** biasPercent: what it shows too much; tandemLb: the bias on a loaded tandem. */
    scale: entry<{
      scale: string
      biasPercent: number
      tandemLb: number
      weighings: number
      groups: number
      from: number
    }>(({ scale, biasPercent, tandemLb, weighings, groups, from }, say) => ({
      message:
        `Scale ${scale} shows ${say.finePercent(Math.abs(biasPercent))} too ` +
        `${biasPercent > 0 ? 'much' : 'little'} (about ${say.weight(Math.abs(tandemLb))} on a loaded tandem), ` +
        `more than it is certified to: ${count(weighings, 'weighing')} of ${count(groups, 'group')} since ` +
        `${say.day(from)} say so, held against the fleet's other scales.`,
      nextStep: "Ask the scale's owner for its last certification, and calibrate on another scale until it is settled.",
    })),
  },
  'ticket-sum-mismatch': {
    ticket: entry<{ number: string; at: number; sumLb: number; grossLb: number }>(
      ({ number, at, sumLb, grossLb }, say) => ({
        message:
          `The axle weights of ticket ${number} of ${say.day(at)} add up to ${say.ticket(sumLb)}, ` +
          `${say.ticket(Math.abs(sumLb - grossLb))} ${moreOrLess(sumLb - grossLb)} than its gross of ` +
          `${say.ticket(grossLb)}.`,
        nextStep: 'Compare the typed weights with the paper ticket and correct the one that was mistyped.',
      }),
    ),
  },
  'age-over-limit': {
    line: entry<{ calibratedAt: number; limitDays: number; endedOn: LocalDay; ageDays: number }>(
      ({ calibratedAt, limitDays, endedOn, ageDays }, say) => ({
        message:
          `The line of ${say.day(calibratedAt)} passed its allowed age of ${count(limitDays, 'day')} on ` +
          `${endedOn}; it is ${count(ageDays, 'day')} old.`,
        nextStep: 'Weigh empty and loaded with readings, and calibrate again.',
      }),
    ),
  },
  'uncertainty-over-tolerance': {
    /** uLb: standard uncertainty of a weight at the limit today; the tolerance is what its 95 % half-width may be. */
    soon: entry<{ limitLb: number; uLb: number; toleranceLb: number; tolerancePercent: number; on: LocalDay }>(
      ({ limitLb, uLb, toleranceLb, tolerancePercent, on }, say) => ({
        message:
          `By this line a weight near the ${say.weight(limitLb)} limit is good to ${say.plusMinus(uLb)} ` +
          `today and will ` +
          `pass the tolerance of ${say.weight(toleranceLb)} (${say.percent(tolerancePercent)} of the limit) about ` +
          `${on}.`,
        nextStep: `Plan a calibration, or a check weighing near the limit, before ${on}.`,
      }),
    ),
    now: entry<{ limitLb: number; uLb: number; toleranceLb: number; tolerancePercent: number }>(
      ({ limitLb, uLb, toleranceLb, tolerancePercent }, say) => ({
        message:
          `By this line a weight near the ${say.weight(limitLb)} limit is only good to ${say.plusMinus(uLb)}; ` +
          `the tolerance is ${say.weight(toleranceLb)} (${say.percent(tolerancePercent)} of the limit).`,
        nextStep: 'Weigh near the limit with a reading, and calibrate with more points.',
      }),
    ),
  },
  'short-span': {
    span: entry<{ spanLb: number; askedPercent: number; limitLb: number }>(
      ({ spanLb, askedPercent, limitLb }, say) => ({
        message:
          `The calibration weights lie only ${say.ticket(spanLb)} apart; ` +
          `${say.percent(askedPercent)} of the ${say.ticket(limitLb)} limit is asked for, ` +
          'so weights near the limit are a guess beyond the points.',
        nextStep: 'Weigh once loaded near the limit and once empty, and calibrate with both.',
      }),
    ),
    top: entry<{ topLb: number; limitLb: number }>(({ topLb, limitLb }, say) => ({
      message:
        `The heaviest calibration weight is ${say.ticket(topLb)}, ` +
        `far below the ${say.ticket(limitLb)} limit, so weights near the limit are a guess beyond the points.`,
      nextStep: 'Weigh once loaded near the limit and once empty, and calibrate with both.',
    })),
  },
  'battery-overdue': {
    cell: entry<CellFacts & { endedAt: number }>((facts, say) => ({
      message:
        `${cellOf(facts.cell, facts.serial)} is ${cellAge(facts)} and has outlived its predicted life, ` +
        `which ended on ${say.day(facts.endedAt)}; ${cellRisk(facts, say)}.`,
      nextStep: swapCell('at the first chance'),
    })),
    silent: entry<CellFacts & { deadSince: number }>((facts, say) => ({
      message: `${cellOf(facts.cell, facts.serial)}, ${cellAge(facts)}, is ${deadCell(facts.deadSince, say)}.`,
      nextStep: swapCell('at the first chance'),
    })),
  },
  'battery-due': {
    risk: entry<CellFacts & { swapByAt: number; limitPercent: number }>((facts, say) => ({
      message:
        `${cellOf(facts.cell, facts.serial)} is ${cellAge(facts)}; ${cellRisk(facts, say)}, ` +
        `above the House Rules’ ${facts.limitPercent} %.`,
      nextStep: swapCell(`by ${say.day(facts.swapByAt)}`),
    })),
    life: entry<CellFacts & { swapByAt: number; endsAt: number }>((facts, say) => ({
      message:
        `${cellOf(facts.cell, facts.serial)} is ${cellAge(facts)}; ` +
        `its predicted life ends on ${say.day(facts.endsAt)}, before ${cellVisit(facts, say)}.`,
      nextStep: swapCell(`by ${say.day(facts.swapByAt)}`),
    })),
  },
  'age-near-limit': {
    line: entry<{ calibratedAt: number; limitDays: number; endsOn: LocalDay }>(
      ({ calibratedAt, limitDays, endsOn }, say) => ({
        message:
          `The line of ${say.day(calibratedAt)} reaches its allowed age of ${count(limitDays, 'day')} on ` +
          `${endsOn}.`,
        nextStep: `Plan a calibration before ${endsOn}.`,
      }),
    ),
  },
  'lift-state-mismatch': {
    points: entry<{ points: number; calibratedAt: number; taken: string | null; rest: string }>(
      ({ points, calibratedAt, taken, rest }, say) => ({
        message:
          `${count(points, 'point')} of the line of ${say.day(calibratedAt)} ` +
          `${points === 1 ? 'was' : 'were'} taken with the lift axle ${taken}, the rest with it ${rest}.`,
        nextStep: 'Calibrate again with the lift axle in one state at every load.',
      }),
    ),
    readings: entry<{ readings: number; from: number; taken: string | null; calibrated: string | null }>(
      ({ readings, from, taken, calibrated }, say) => ({
        message:
          `${count(readings, 'reading')} since ${say.day(from)} ${readings === 1 ? 'was' : 'were'} taken ` +
          `with the lift axle ${taken}; the line was calibrated with it ${calibrated}, ` +
          `so ${readings === 1 ? 'it' : 'they'} cannot be weighed.`,
        nextStep:
          `Read the pressure with the lift axle ${calibrated}, then move it; ` + `or calibrate once with it ${taken}.`,
      }),
    ),
  },
  'sensor-silent': {
    /**
     * circuit: the one that is silent; null where the whole group is. usualDays: within which nearly all readings
     * came.
     */
    readings: entry<{ from: number; silentDays: number; usualDays: number; circuit: string | null }>(
      ({ from, silentDays, usualDays, circuit }, say) => ({
        message:
          `No reading of ${circuit === null ? 'this group' : `circuit ${circuit}`} has come since ` +
          `${say.day(from)}, ${count(silentDays, 'day')} ago; nearly all came within ` +
          `${count(usualDays, 'day')} of the one before. Most likely a cell is dead.`,
        nextStep: 'Look whether the unit has stood still; if not, swap the cell and record the swap with its reason.',
      }),
    ),
  },
  'one-circuit-read': {
    readings: entry<{ readings: number; from: number; missing: string }>(({ readings, from, missing }, say) => ({
      message:
        `${count(readings, 'reading')} since ${say.day(from)} ${readings === 1 ? 'lacks' : 'lack'} ` +
        `circuit ${missing}, on which the line rests too: ${readings === 1 ? 'it' : 'they'} cannot be ` +
        `weighed and ${readings === 1 ? 'tests' : 'test'} nothing.`,
      nextStep: 'Read every circuit of the group each time.',
    })),
    line: entry<{ calibratedAt: number; read: string; missing: string }>(({ calibratedAt, read, missing }, say) => ({
      message:
        `The line of ${say.day(calibratedAt)} rests on circuit ${read} alone; ${missing} has a ` +
        `sensor too, and was not read at every point.`,
      nextStep: 'Calibrate with every circuit read at each load: a difference between the sides then falls out.',
    })),
  },
  'follows-weather': {
    /** psiPerDegree: what it shows more for each °F. */
    sensor: entry<{ psiPerDegree: number }>(({ psiPerDegree }, say) => ({
      message:
        `Its pressure follows the weather: ${say.pressurePerDegree(Math.abs(psiPerDegree))} ` +
        `${moreOrLess(psiPerDegree)} the warmer it is.`,
      nextStep: 'Enter the temperature of the air with each reading, so that it can be allowed for.',
    })),
  },
  'two-point-line': {
    untested: entry<{ calibratedAt: number }>(({ calibratedAt }, say) => ({
      message:
        `The line of ${say.day(calibratedAt)} has two points only and no check weighing has tested ` +
        `it: nothing would show a slip in either.`,
      nextStep: 'Weigh once more with a reading to test it; next time calibrate with three or more loads.',
    })),
    line: entry<{ calibratedAt: number }>(({ calibratedAt }, say) => ({
      message: `The line of ${say.day(calibratedAt)} has two points only: it fits them exactly and cannot show a slip.`,
      nextStep: 'Next time weigh at three or more loads.',
    })),
  },
}

export type FindingSentences = typeof findingSentences
export type FindingCode = keyof FindingSentences
export type FindingVariant<C extends FindingCode> = keyof FindingSentences[C] & string
export type FindingFacts<C extends FindingCode, V extends FindingVariant<C>> = FactsOf<FindingSentences[C][V]>

/** What a finding says, as data, checked against the entry that says it. */
export const saying = <C extends FindingCode, V extends FindingVariant<C>>(
  code: C,
  variant: V,
  facts: FindingFacts<C, V>,
): Said => ({ code, variant, facts })

/** What a finding says, as data. */
export interface Said {
  readonly code: FindingCode
  /** The entry of its code that says it. */
  readonly variant: string
  /** What that entry speaks of, in stored units. */
  readonly facts: Facts
}

/** The same from the columns of a stored one. */
export const saidOf = ({ code, variant, facts }: { code: string; variant: string; facts: string }): Said => ({
  code: code as FindingCode,
  variant,
  facts: JSON.parse(facts) as Facts,
})

function entryOf({ code, variant }: Pick<Said, 'code' | 'variant'>): Entry<Facts, Advice> | undefined {
  // That facts and entry go together was checked where the finding was made, before it was stored.
  const entries = findingSentences[code] as unknown as Readonly<Record<string, Entry<Facts, Advice>>> | undefined
  return entries?.[variant]
}

/** Whether this version has the sentence of what an earlier one may have kept. */
export const canSay = (said: Said): boolean => entryOf(said) !== undefined

/** The words of a finding in the measures in use. Errors: RangeError for a variant that its code does not have. */
export function sayFinding({ code, variant, facts }: Said, say: Say): Advice {
  const write = entryOf({ code, variant })
  if (!write) throw new RangeError(`finding ${code} has no sentence “${variant}”`)
  return write(facts, say)
}
