import type { LocalDay } from '#core/words/day.ts'
import type { Say } from '#core/words/say.ts'
import { sayLineProblem } from '#core/words/sentences/line-problems.ts'
import { type Advice, type Entry, type Facts, type FactsOf, workDone } from '#core/words/sentences/sentence.ts'
import { word, wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

const entry = <F extends Facts = Facts>(write: Entry<F, Advice>): Entry<F, Advice> => write

const moreOrLess = (difference: number) => (difference > 0 ? 'more' : 'less')

/** How a sentence names the line: by its lift state where it has one, since the group may have a line for each. */
const lineOf = (lift: string | null): string =>
  lift === 'raised' || lift === 'lowered'
    ? phrase('the line with the lift axle {lift}', { lift: word(lift) })
    : phrase('this line')

/** What a change of a kind looks like in the weights; nothing where the kind is not clear. */
const changeWords = (kind: string | null): string => {
  if (kind === 'drift') return phrase(', and drifts on')
  if (kind === 'slope') return phrase(', more so the heavier it stands')
  return kind === 'offset' ? phrase(', by about as much at every load') : ''
}

const missed = (
  { at, weightLb, missLb, psi }: { at: number; weightLb: number; missLb: number; psi: number },
  say: Say,
): string =>
  phrase('On {at} the scale showed {weightLb}, {missLb} {missLb2} than expected at {psi}', {
    at: say.day(at),
    weightLb: say.ticket(weightLb),
    missLb: say.weight(Math.abs(missLb)),
    missLb2: word(moreOrLess(missLb)),
    psi: say.pressure(psi),
  })

const missedTogether = (
  { at, withGroup, sumLb, missLb }: { at: number; withGroup: string; sumLb: number; missLb: number },
  say: Say,
): string =>
  phrase(
    'On {at} the scale showed {sumLb} for this group and {withGroup} on one platform, {missLb} {missLb2} than their two lines add up to',
    {
      at: say.day(at),
      sumLb: say.ticket(sumLb),
      withGroup,
      missLb: say.weight(Math.abs(missLb)),
      missLb2: word(moreOrLess(missLb)),
    },
  )

const cellOf = (cell: string | null, serial: string): string =>
  phrase('The {cell} of sensor {serial}', { cell: cell === null ? 'cell' : phrase('{cell} cell', { cell }), serial })

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
  phrase('{ageDays, plural, one {# day} other {# days}} old{countedFrom}', {
    ageDays,
    countedFrom: countedFrom === 'mounting' ? phrase(' (no change recorded; counted from the mounting)') : '',
  })

const cellVisit = ({ visit, visitAt }: CellFacts, say: Say): string =>
  `${visit === 'assumed' ? phrase('a visit on') : phrase('the visit planned on')} ${say.day(visitAt)}`

const cellRisk = (facts: CellFacts, say: Say): string =>
  phrase('its risk of dying before {facts} is {riskPercent} %', {
    facts: cellVisit(facts, say),
    riskPercent: facts.riskPercent.toFixed(facts.riskPercent < 10 ? 1 : 0),
  })

/** What a cell is whose sensor fell silent. */
export const deadCell = (since: number, say: Say): string =>
  phrase('most likely dead: its sensor has been silent since {since}', { since: say.day(since) })

const swapCell = (when: string): string =>
  phrase(
    'Swap the cell {when} and record the swap with its reason. Keep new and used coin cells out of children’s reach: a swallowed one can kill within hours.',
    { when },
  )

/** By when a cell is to be swapped; null: that has come. */
type SwapBy = { swapByAt: number | null }

const byWhen = ({ swapByAt }: SwapBy, say: Say): string =>
  swapByAt === null ? phrase('now') : phrase('by {swapByAt}', { swapByAt: say.day(swapByAt) })

/**
 * Every sentence of a finding in US English, by its code and the variant of the case. Another language is another
 * object of the same shape, `FindingSentences`.
 */
export const findingSentences = {
  'no-calibration': {
    never: entry(() => ({
      message: phrase('This group has a sensor but no calibration: its pressures cannot be turned into weights.'),
      nextStep: phrase('Weigh the unit empty and loaded, note the pressures each time, and calibrate.'),
    })),
    'no sensor': entry(() => ({
      message: phrase(
        'This group has an air circuit, but no sensor and no calibration yet: it cannot be weighed by pressure.',
      ),
      nextStep: phrase('Mount a sensor, or read a gauge on the circuit; then weigh empty and loaded, and calibrate.'),
    })),
    'no line': entry<{ code: string; value: string; message: string }>((problem, say) => ({
      message: phrase('None of its calibrations makes a line: {problem}', { problem: sayLineProblem(problem, say) }),
      nextStep: phrase('Weigh the unit empty and loaded, note the pressures each time, and calibrate.'),
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
      message: phrase(
        'On {at} {kind}{circuit}{more}, after the calibration of {calibratedAt}: the line no longer describes the group.',
        {
          at: say.day(at),
          kind: workDone(kind, serial),
          circuit: circuit === null ? '' : phrase(' on circuit {circuit}', { circuit }),
          more: more > 0 ? phrase(' (and {more} more since)', { more: say.number(more) }) : '',
          calibratedAt: say.day(calibratedAt),
        },
      ),
      nextStep: phrase('Weigh empty and loaded with readings, and calibrate again before trusting its weights.'),
    })),
    /** at: when the sensor is said to have come; readAt: when its circuit was read already, and no other sat there. */
    'mounted late': entry<{ at: number; serial: string; readAt: number; circuit: string | null; calibratedAt: number }>(
      ({ at, serial, readAt, circuit, calibratedAt }, say) => ({
        message: phrase(
          'Sensor {serial} is recorded as mounted {at}, yet{circuit} was read {readAt} for the calibration of {calibratedAt}, when no other sensor sat there: the date of the mounting is the likely error. As recorded, the line no longer describes the group.',
          {
            serial,
            at: say.moment(at),
            circuit: circuit === null ? phrase(' its circuit') : phrase(' circuit {circuit}', { circuit }),
            readAt: say.moment(readAt),
            calibratedAt: say.day(calibratedAt),
          },
        ),
        nextStep: phrase(
          'If {serial} sat there already, correct the date of its mounting; if the pressures came off a gauge, weigh empty and loaded again with its readings, and calibrate.',
          { serial },
        ),
      }),
    ),
  },
  'wrong-pressure-unit': {
    /** typedPsi: the number that was typed, as it is stored; unit: the one that it fits. */
    one: entry<{ at: number; typedPsi: number; fitsPsi: number; unit: string }>(
      ({ at, typedPsi, fitsPsi, unit }, say) => ({
        message: phrase(
          'The pressure {typedPsi} of {at} looks like {unit} typed as another unit: {fitsPsi} would fit the line.',
          { typedPsi: say.pressure(typedPsi), at: say.day(at), unit, fitsPsi: say.pressure(fitsPsi) },
        ),
        nextStep: phrase("Look at the gauge's unit; if it showed {unit}, correct the reading to {fitsPsi}.", {
          unit,
          fitsPsi: say.pressure(fitsPsi),
        }),
      }),
    ),
    all: entry<{ at: number; typedPsi: number; fitsPsi: number; unit: string }>(
      ({ at, typedPsi, fitsPsi, unit }, say) => ({
        message: phrase(
          'The pressures of {at}, {typedPsi} in the mean, look like {unit} typed as another unit: {fitsPsi} would fit the line.',
          { at: say.day(at), typedPsi: say.pressure(typedPsi), unit, fitsPsi: say.pressure(fitsPsi) },
        ),
        nextStep: phrase(
          "Look at the gauge's unit; if it showed {unit}, enter each pressure again with its unit behind it.",
          { unit },
        ),
      }),
    ),
  },
  'groups-swapped': {
    ticket: entry<{ at: number; typedLb: number; fitsLb: number }>(({ at, typedLb, fitsLb }, say) => ({
      message: phrase(
        'On the ticket of {at} this group has {typedLb}, which does not fit; the {fitsLb} of another group on that ticket would. The two look swapped.',
        { at: say.day(at), typedLb: say.ticket(typedLb), fitsLb: say.ticket(fitsLb) },
      ),
      nextStep: phrase(
        'Compare the ticket with the paper; if the two weights were swapped, put each where it belongs.',
      ),
    })),
  },
  'digits-transposed': {
    ticket: entry<{ at: number; typedLb: number; fitsLb: number }>(({ at, typedLb, fitsLb }, say) => ({
      message: phrase(
        'The ticket of {at} has {typedLb} for this group, which does not fit; {fitsLb}, with two digits of the printed weight the other way round, would.',
        { at: say.day(at), typedLb: say.ticket(typedLb), fitsLb: say.ticket(fitsLb) },
      ),
      nextStep: phrase('Compare the ticket with the paper; if it says {fitsLb}, correct the ticket.', {
        fitsLb: say.ticket(fitsLb),
      }),
    })),
  },
  'altitude-uncorrected': {
    /** psiPerFt: what the air's pressure falls by near sea level. */
    'no elevation': entry<{ readings: number; psiPerFt: number }>(({ readings, psiPerFt }, say) => ({
      message: phrase(
        '{readings, plural, one {# reading} other {# readings}} of its absolute sensor {readings, plural, one {has} other {have}} no elevation and cannot be used: each {climbFt} is worth about {pressure}.',
        { readings, climbFt: say.elevation(say.climbFt), pressure: say.pressure(psiPerFt * say.climbFt) },
      ),
      nextStep: phrase('Enter the elevation of the place with the reading, or of the scale once for all its tickets.'),
    })),
    'yard stands in': entry<{ readings: number; from: number; psiPerFt: number }>(
      ({ readings, from, psiPerFt }, say) => ({
        message: phrase(
          '{readings, plural, one {# reading} other {# readings}} of its absolute sensor since {from} {readings, plural, one {has} other {have}} no elevation: that of the yard stands in, and each {climbFt} from it is worth about {pressure}.',
          {
            readings,
            from: say.day(from),
            climbFt: say.elevation(say.climbFt),
            pressure: say.pressure(psiPerFt * say.climbFt),
          },
        ),
        nextStep: phrase('Enter the elevation of the place with each reading.'),
      }),
    ),
    'absolute on record as gauge': entry<{ missPsi: number }>(({ missPsi }, say) => ({
      message: phrase(
        'Between its lowest and highest scale the line misses by {missPsi}, as that of an absolute sensor read as gauge does.',
        { missPsi: say.pressure(missPsi) },
      ),
      nextStep: phrase("Look up the sensor's type; it is on record as gauge."),
    })),
    'gauge on record as absolute': entry<{ missPsi: number }>(({ missPsi }, say) => ({
      message: phrase(
        'Between its lowest and highest scale the line misses by {missPsi}, as that of a gauge sensor read as absolute does.',
        { missPsi: say.pressure(missPsi) },
      ),
      nextStep: phrase("Look up the sensor's type; it is on record as absolute."),
    })),
  },
  'checks-drifting': {
    /**
     * missLb: scale less line, mean of the last `checks`; lift: of the line; at: the most probable moment, with its
     * 95 % interval; knownAt: when the checks had shown it.
     */
    change: entry<{
      at: number
      from: number
      until: number
      knownAt: number
      kind: string | null
      missLb: number
      checks: number
      lift: string | null
    }>(({ at, from, until, kind, missLb, checks, lift }, say) => ({
      message: phrase(
        'Since about {at} (95 %: {from} to {until}) the scale has shown {missLb} {missLb2} than {lift} reads (mean of the last {checks, plural, one {# check} other {# checks}}){kind}: the line no longer holds.',
        {
          at: say.day(at),
          from: say.day(from),
          until: say.day(until),
          missLb: say.weight(Math.abs(missLb)),
          missLb2: word(moreOrLess(missLb)),
          lift: lineOf(lift),
          checks,
          kind: changeWords(kind),
        },
      ),
      nextStep: phrase(
        'Look for a leak, a moved ride height or a tired sensor; then weigh empty and loaded and calibrate again.',
      ),
    })),
    /**
     * By weights of two groups on one platform. at: of the first that lies off; missLb: scale less both best weights,
     * the mean; uMissLb: its standard uncertainty.
     */
    together: entry<{ at: number; withGroup: string; missLb: number; uMissLb: number; weighings: number }>(
      ({ at, withGroup, missLb, uMissLb, weighings }, say) => ({
        message: phrase(
          'Since {at} the scale has shown {missLb} (95 %: {uMissLb}) {missLb2} for this group and {withGroup} on one platform than the two lines add up to (mean of {weighings, plural, one {# ticket} other {# tickets}}): one of the two lines has moved, or both.',
          {
            at: say.day(at),
            missLb: say.weight(Math.abs(missLb)),
            uMissLb: say.plusMinus(uMissLb),
            missLb2: word(moreOrLess(missLb)),
            withGroup,
            weighings,
          },
        ),
        nextStep: phrase(
          'Weigh this group and {withGroup} apart, each on a platform of its own, and note both pressures: that tells which line moved. Then calibrate that one again.',
          { withGroup },
        ),
      }),
    ),
    /** As kept by versions before the state of the line was followed. */
    shift: entry<{ from: number; missLb: number; checks: number; lift: string | null }>(
      ({ from, missLb, checks, lift }, say) => ({
        message: phrase(
          'Since {from} the scale has shown {missLb} {missLb2} than {lift} reads (mean of the last {checks, plural, one {# check} other {# checks}}): the line no longer holds.',
          {
            from: say.day(from),
            missLb: say.weight(Math.abs(missLb)),
            missLb2: word(moreOrLess(missLb)),
            lift: lineOf(lift),
            checks,
          },
        ),
        nextStep: phrase(
          'Look for a leak, a moved ride height or a tired sensor; then weigh empty and loaded and calibrate again.',
        ),
      }),
    ),
  },
  'check-missed': {
    /** chancePercent: of checks that chance alone would do that to, a bound. */
    open: entry<{ at: number; weightLb: number; missLb: number; psi: number; chancePercent: number }>((facts, say) => ({
      message: phrase('{facts}; chance alone would do that in less than {chancePercent} of checks.', {
        facts: missed(facts, say),
        chancePercent: say.percent(facts.chancePercent),
      }),
      nextStep: phrase(
        'Compare the ticket and the pressure with the paper, then weigh once more to see whether it stays.',
      ),
    })),
    answered: entry<{ at: number; weightLb: number; missLb: number; psi: number }>((facts, say) => ({
      message: phrase('{facts}; later checks agree with the line.', { facts: missed(facts, say) }),
      nextStep: phrase('Compare that ticket and its pressure with the paper.'),
    })),
    /** Of two groups on one platform. */
    together: entry<{ at: number; withGroup: string; sumLb: number; missLb: number; chancePercent: number }>(
      (facts, say) => ({
        message: phrase(
          '{facts}; chance alone would do that in less than {chancePercent} of such weighings. Which of the two is off it cannot tell.',
          { facts: missedTogether(facts, say), chancePercent: say.percent(facts.chancePercent) },
        ),
        nextStep: phrase(
          'Compare the ticket and both pressures with the paper, then weigh the two groups apart, each on a platform of its own.',
        ),
      }),
    ),
    'together answered': entry<{ at: number; withGroup: string; sumLb: number; missLb: number }>((facts, say) => ({
      message: phrase('{facts}; both have been weighed apart since, which tells more.', {
        facts: missedTogether(facts, say),
      }),
      nextStep: phrase('Compare that ticket and its pressures with the paper.'),
    })),
  },
  'points-disagree': {
    /** residualLb: how far the worst point lies above the line. */
    line: entry<{ points: number; calibratedAt: number; weightLb: number; psi: number; residualLb: number }>(
      ({ points, calibratedAt, weightLb, psi, residualLb }, say) => ({
        message: phrase(
          'The {points, plural, one {# point} other {# points}} of the line of {calibratedAt} do not lie on one line: {weightLb} at {psi} is {residualLb} {residualLb2} it.',
          {
            points,
            calibratedAt: say.day(calibratedAt),
            weightLb: say.ticket(weightLb),
            psi: say.pressure(psi),
            residualLb: say.weight(Math.abs(residualLb)),
            residualLb2: residualLb > 0 ? phrase('above') : phrase('below'),
          },
        ),
        nextStep: phrase(
          'Compare that ticket and its pressure with the paper; if both are right, weigh and calibrate again.',
        ),
      }),
    ),
  },
  'line-moved': {
    /** shiftLb: later less earlier line; times: what chance explains. */
    unexplained: entry<{ laterAt: number; earlierAt: number; shiftLb: number; near: 'limit' | 'empty'; times: number }>(
      ({ laterAt, earlierAt, shiftLb, near, times }, say) => ({
        message: phrase(
          'The calibration of {laterAt} reads {shiftLb} {shiftLb2} {near} than that of {earlierAt}, {times} times what chance explains, and no work is on record between them.',
          {
            laterAt: say.day(laterAt),
            shiftLb: say.weight(Math.abs(shiftLb)),
            shiftLb2: word(moreOrLess(shiftLb)),
            near: near === 'limit' ? phrase('near the limit') : phrase('near empty'),
            earlierAt: say.day(earlierAt),
            times: times.toFixed(1),
          },
        ),
        nextStep: phrase(
          'Ask the shop what was done between the two; record it, or look at valve, ride height and sensor.',
        ),
      }),
    ),
  },
  'slope-implausible': {
    falls: entry<{ calibratedAt: number; slopeLbPerPsi: number }>(({ calibratedAt, slopeLbPerPsi }, say) => ({
      message: phrase('The line of {calibratedAt} falls as pressure rises ({slopeLbPerPsi}).', {
        calibratedAt: say.day(calibratedAt),
        slopeLbPerPsi: say.slope(slopeLbPerPsi),
      }),
      nextStep: phrase('Check the tickets and the pressure unit of this calibration, and the air springs on record.'),
    })),
    springs: entry<{ calibratedAt: number; slopeLbPerPsi: number; ratio: number }>(
      ({ calibratedAt, slopeLbPerPsi, ratio }, say) => ({
        message: phrase(
          'The line of {calibratedAt} gains {slopeLbPerPsi}, {ratio} times what its air springs can carry for that pressure.',
          { calibratedAt: say.day(calibratedAt), slopeLbPerPsi: say.slope(slopeLbPerPsi), ratio: say.ratio(ratio) },
        ),
        nextStep: phrase('Check the tickets and the pressure unit of this calibration, and the air springs on record.'),
      }),
    ),
  },
  'line-unlike-family': {
    slope: entry<{ calibratedAt: number; slopeLbPerPsi: number; usualLbPerPsi: number; groups: number }>(
      ({ calibratedAt, slopeLbPerPsi, usualLbPerPsi, groups }, say) => ({
        message: phrase(
          'The line of {calibratedAt} rises by {slopeLbPerPsi}; {groups, plural, one {# group} other {# groups}} with the same springs lie around {usualLbPerPsi}.',
          {
            calibratedAt: say.day(calibratedAt),
            slopeLbPerPsi: say.slope(slopeLbPerPsi),
            groups,
            usualLbPerPsi: say.slope(usualLbPerPsi),
          },
        ),
        nextStep: phrase(
          'Check the tickets and pressures of this calibration, and whether its air springs are the ones on record.',
        ),
      }),
    ),
    start: entry<{ calibratedAt: number; startLb: number; usualLb: number; groups: number }>(
      ({ calibratedAt, startLb, usualLb, groups }, say) => ({
        message: phrase(
          'The line of {calibratedAt} starts at {startLb}; {groups, plural, one {# group} other {# groups}} with the same springs lie around {usualLb}.',
          { calibratedAt: say.day(calibratedAt), startLb: say.weight(startLb), groups, usualLb: say.weight(usualLb) },
        ),
        nextStep: phrase(
          'Check the tickets and pressures of this calibration, and whether its air springs are the ones on record.',
        ),
      }),
    ),
  },
  'side-imbalance': {
    circuits: entry<{ from: number; high: string; low: string; differencePsi: number; allowedPsi: number }>(
      ({ from, high, low, differencePsi, allowedPsi }, say) => ({
        message: phrase('Since {from} circuit {high} has stood {differencePsi} above {low}; {allowedPsi} is allowed.', {
          from: say.day(from),
          high,
          differencePsi: say.pressure(differencePsi),
          low,
          allowedPsi: say.pressure(allowedPsi),
        }),
        nextStep: phrase(
          'Look for a leveling valve or link out of setting, a leaking spring or a load off center; compare both sensors with a gauge.',
        ),
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
      message: phrase(
        "Scale {scale} shows {biasPercent} too {biasPercent2} (about {tandemLb} on a loaded tandem), more than it is certified to: {weighings, plural, one {# weighing} other {# weighings}} of {groups, plural, one {# group} other {# groups}} since {from} say so, held against the fleet's other scales.",
        {
          scale,
          biasPercent: say.finePercent(Math.abs(biasPercent)),
          biasPercent2: biasPercent > 0 ? phrase('much') : phrase('little'),
          tandemLb: say.weight(Math.abs(tandemLb)),
          weighings,
          groups,
          from: say.day(from),
        },
      ),
      nextStep: phrase(
        "Ask the scale's owner for its last certification, and calibrate on another scale until it is settled.",
      ),
    })),
  },
  'ticket-sum-mismatch': {
    ticket: entry<{ number: string; at: number; sumLb: number; grossLb: number }>(
      ({ number, at, sumLb, grossLb }, say) => ({
        message: phrase(
          'The axle weights of ticket {number} of {at} add up to {sumLb}, {abs} {moreOrLess} than its gross of {grossLb}.',
          {
            number,
            at: say.day(at),
            sumLb: say.ticket(sumLb),
            abs: say.ticket(Math.abs(sumLb - grossLb)),
            moreOrLess: word(moreOrLess(sumLb - grossLb)),
            grossLb: say.ticket(grossLb),
          },
        ),
        nextStep: phrase('Compare the typed weights with the paper ticket and correct the one that was mistyped.'),
      }),
    ),
  },
  'age-over-limit': {
    line: entry<{ calibratedAt: number; limitDays: number; endedOn: LocalDay; ageDays: number }>(
      ({ calibratedAt, limitDays, endedOn, ageDays }, say) => ({
        message: phrase(
          'The line of {calibratedAt} passed its allowed age of {limitDays, plural, one {# day} other {# days}} on {endedOn}; it is {ageDays, plural, one {# day} other {# days}} old.',
          { calibratedAt: say.day(calibratedAt), limitDays, endedOn, ageDays },
        ),
        nextStep: phrase('Weigh empty and loaded with readings, and calibrate again.'),
      }),
    ),
  },
  'uncertainty-over-tolerance': {
    /** uLb: standard uncertainty of a weight at the limit today; the tolerance is what its 95 % half-width may be. */
    soon: entry<{ limitLb: number; uLb: number; toleranceLb: number; tolerancePercent: number; on: LocalDay }>(
      ({ limitLb, uLb, toleranceLb, tolerancePercent, on }, say) => ({
        message: phrase(
          'By this line a weight near the {limitLb} limit is good to {uLb} today and will pass the tolerance of {toleranceLb} ({tolerancePercent} of the limit) about {on}.',
          {
            limitLb: say.weight(limitLb),
            uLb: say.plusMinus(uLb),
            toleranceLb: say.weight(toleranceLb),
            tolerancePercent: say.percent(tolerancePercent),
            on,
          },
        ),
        nextStep: phrase('Plan a calibration, or a check weighing near the limit, before {on}.', { on }),
      }),
    ),
    now: entry<{ limitLb: number; uLb: number; toleranceLb: number; tolerancePercent: number }>(
      ({ limitLb, uLb, toleranceLb, tolerancePercent }, say) => ({
        message: phrase(
          'By this line a weight near the {limitLb} limit is only good to {uLb}; the tolerance is {toleranceLb} ({tolerancePercent} of the limit).',
          {
            limitLb: say.weight(limitLb),
            uLb: say.plusMinus(uLb),
            toleranceLb: say.weight(toleranceLb),
            tolerancePercent: say.percent(tolerancePercent),
          },
        ),
        nextStep: phrase('Weigh near the limit with a reading, and calibrate with more points.'),
      }),
    ),
  },
  'short-span': {
    span: entry<{ spanLb: number; askedPercent: number; limitLb: number }>(
      ({ spanLb, askedPercent, limitLb }, say) => ({
        message: phrase(
          'The calibration weights lie only {spanLb} apart; {askedPercent} of the {limitLb} limit is asked for, so weights near the limit are a guess beyond the points.',
          { spanLb: say.ticket(spanLb), askedPercent: say.percent(askedPercent), limitLb: say.ticket(limitLb) },
        ),
        nextStep: phrase('Weigh once loaded near the limit and once empty, and calibrate with both.'),
      }),
    ),
    top: entry<{ topLb: number; limitLb: number }>(({ topLb, limitLb }, say) => ({
      message: phrase(
        'The heaviest calibration weight is {topLb}, far below the {limitLb} limit, so weights near the limit are a guess beyond the points.',
        { topLb: say.ticket(topLb), limitLb: say.ticket(limitLb) },
      ),
      nextStep: phrase('Weigh once loaded near the limit and once empty, and calibrate with both.'),
    })),
  },
  'battery-overdue': {
    cell: entry<CellFacts & { endedAt: number }>((facts, say) => ({
      message: phrase('{cell} is {facts} and has outlived its predicted life, which ended on {endedAt}; {facts2}.', {
        cell: cellOf(facts.cell, facts.serial),
        facts: cellAge(facts),
        endedAt: say.day(facts.endedAt),
        facts2: cellRisk(facts, say),
      }),
      nextStep: swapCell(phrase('at the first chance')),
    })),
    silent: entry<CellFacts & { deadSince: number }>((facts, say) => ({
      message: phrase('{cell}, {facts}, is {deadSince}.', {
        cell: cellOf(facts.cell, facts.serial),
        facts: cellAge(facts),
        deadSince: deadCell(facts.deadSince, say),
      }),
      nextStep: swapCell(phrase('at the first chance')),
    })),
  },
  'battery-due': {
    risk: entry<CellFacts & SwapBy & { limitPercent: number }>((facts, say) => ({
      message: phrase('{cell} is {facts}; {facts2}, above the House Rules’ {limitPercent} %.', {
        cell: cellOf(facts.cell, facts.serial),
        facts: cellAge(facts),
        facts2: cellRisk(facts, say),
        limitPercent: facts.limitPercent,
      }),
      nextStep: swapCell(byWhen(facts, say)),
    })),
    life: entry<CellFacts & SwapBy & { endsAt: number }>((facts, say) => ({
      message: phrase('{cell} is {facts}; its predicted life ends on {endsAt}, before {facts2}.', {
        cell: cellOf(facts.cell, facts.serial),
        facts: cellAge(facts),
        endsAt: say.day(facts.endsAt),
        facts2: cellVisit(facts, say),
      }),
      nextStep: swapCell(byWhen(facts, say)),
    })),
  },
  'age-near-limit': {
    line: entry<{ calibratedAt: number; limitDays: number; endsOn: LocalDay }>(
      ({ calibratedAt, limitDays, endsOn }, say) => ({
        message: phrase(
          'The line of {calibratedAt} reaches its allowed age of {limitDays, plural, one {# day} other {# days}} on {endsOn}.',
          { calibratedAt: say.day(calibratedAt), limitDays, endsOn },
        ),
        nextStep: phrase('Plan a calibration before {endsOn}.', { endsOn }),
      }),
    ),
  },
  'lift-state-mismatch': {
    points: entry<{ points: number; calibratedAt: number; taken: string | null; rest: string }>(
      ({ points, calibratedAt, taken, rest }, say) => ({
        message: phrase(
          '{points, plural, one {# point} other {# points}} of the line of {calibratedAt} {points, plural, one {was} other {were}} taken with the lift axle {taken}, the rest with it {rest}.',
          { points, calibratedAt: say.day(calibratedAt), taken: taken && wordOf(taken), rest: wordOf(rest) },
        ),
        nextStep: phrase('Calibrate again with the lift axle in one state at every load.'),
      }),
    ),
    readings: entry<{ readings: number; from: number; taken: string | null; calibrated: string | null }>(
      ({ readings, from, taken, calibrated }, say) => ({
        message: phrase(
          '{readings, plural, one {# reading} other {# readings}} since {from} {readings, plural, one {was} other {were}} taken with the lift axle {taken}; the line was calibrated with it {calibrated}, so {readings, plural, one {it} other {they}} cannot be weighed.',
          {
            readings,
            from: say.day(from),
            taken: taken && wordOf(taken),
            calibrated: calibrated && wordOf(calibrated),
          },
        ),
        nextStep: phrase(
          'Read the pressure with the lift axle {calibrated}, then move it; or calibrate once with it {taken}.',
          { calibrated: calibrated && wordOf(calibrated), taken: taken && wordOf(taken) },
        ),
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
        message: phrase(
          'No reading of {circuit} has come since {from}, {silentDays, plural, one {# day} other {# days}} ago; nearly all came within {usualDays, plural, one {# day} other {# days}} of the one before. Most likely a cell is dead.',
          {
            circuit: circuit === null ? phrase('this group') : phrase('circuit {circuit}', { circuit }),
            from: say.day(from),
            silentDays,
            usualDays,
          },
        ),
        nextStep: phrase(
          'Look whether the unit has stood still; if not, swap the cell and record the swap with its reason.',
        ),
      }),
    ),
  },
  'one-circuit-read': {
    readings: entry<{ readings: number; from: number; missing: string }>(({ readings, from, missing }, say) => ({
      message: phrase(
        '{readings, plural, one {# reading} other {# readings}} since {from} {readings, plural, one {lacks} other {lack}} circuit {missing}, on which the line rests too: {readings, plural, one {it} other {they}} cannot be weighed and {readings, plural, one {tests} other {test}} nothing.',
        { readings, from: say.day(from), missing },
      ),
      nextStep: phrase('Read every circuit of the group each time.'),
    })),
    line: entry<{ calibratedAt: number; read: string; missing: string }>(({ calibratedAt, read, missing }, say) => ({
      message: phrase(
        'The line of {calibratedAt} rests on circuit {read} alone; {missing} has a sensor too, and was not read at every point.',
        { calibratedAt: say.day(calibratedAt), read, missing },
      ),
      nextStep: phrase(
        'Calibrate with every circuit read at each load: a difference between the sides then falls out.',
      ),
    })),
  },
  'follows-weather': {
    /** psiPerDegree: what it shows more for each °F. */
    sensor: entry<{ psiPerDegree: number }>(({ psiPerDegree }, say) => ({
      message: phrase('Its pressure follows the weather: {psiPerDegree} {psiPerDegree2} the warmer it is.', {
        psiPerDegree: say.pressurePerDegree(Math.abs(psiPerDegree)),
        psiPerDegree2: word(moreOrLess(psiPerDegree)),
      }),
      nextStep: phrase('Enter the temperature of the air with each reading, so that it can be allowed for.'),
    })),
  },
  'two-point-line': {
    untested: entry<{ calibratedAt: number }>(({ calibratedAt }, say) => ({
      message: phrase(
        'The line of {calibratedAt} has two points only and no check weighing has tested it: nothing would show a slip in either.',
        { calibratedAt: say.day(calibratedAt) },
      ),
      nextStep: phrase('Weigh once more with a reading to test it; next time calibrate with three or more loads.'),
    })),
    line: entry<{ calibratedAt: number }>(({ calibratedAt }, say) => ({
      message: phrase('The line of {calibratedAt} has two points only: it fits them exactly and cannot show a slip.', {
        calibratedAt: say.day(calibratedAt),
      }),
      nextStep: phrase('Next time weigh at three or more loads.'),
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
