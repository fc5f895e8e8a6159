import type { CalibrationView, GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, ratio, useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/links.tsx'
import { unknownText } from '#renderer/parts/record-text.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import type { Times } from '#renderer/parts/times.ts'
import { VoidCalibration } from '#renderer/parts/void-calibration.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

function stateOf({ voidedAt, voidReason, current, line, problem }: CalibrationView, times: Times): string {
  if (voidedAt !== null)
    return phrase('void since {voidedAt}{voidReason}', {
      voidedAt: times.day(voidedAt),
      voidReason: voidReason ? `: ${voidReason}` : '',
    })
  if (problem !== null) return problem
  if (current) return phrase('in force')
  return line === null ? phrase('no line') : phrase('replaced')
}

function agreement({ chi2, chi2Limit95, widenedBy, points }: CalibrationView): string {
  if (chi2 === null) return unknownText
  if (chi2Limit95 === null) return phrase('{points} points, no self-check', { points: points.length })
  const widened =
    widenedBy !== null && widenedBy > 1 ? phrase(', widened ×{widenedBy}', { widenedBy: ratio(widenedBy) }) : ''
  return phrase('{chi2} of {chi2Limit95}{widened}', { chi2: ratio(chi2), chi2Limit95: ratio(chi2Limit95), widened })
}

/** Every calibration of a group, newest first; none is ever edited, so voided ones stay with their reason. */
export function CalibrationList({ calibrations }: { calibrations: readonly CalibrationView[] }) {
  const { weight, slope, times } = useMeasures()
  if (calibrations.length === 0) return <p className="sheet-none">{phrase('No calibration yet.')}</p>
  return (
    <SheetTable
      caption={phrase('Calibrations, newest first')}
      rows={calibrations.toSorted((a, b) => b.calibratedAt.localeCompare(a.calibratedAt))}
      keyOf={({ id }) => id}
      mark={({ current }) => ({ 'data-current': current || undefined })}
      columns={[
        [
          phrase('Calibrated'),
          ({ calibratedAt, voidedAt }) =>
            voidedAt === null ? times.moment(calibratedAt) : <s>{times.moment(calibratedAt)}</s>,
          'nowrap',
        ],
        [phrase('By'), ({ calibratedBy }) => calibratedBy ?? unknownText],
        [phrase('State'), (calibration) => stateOf(calibration, times)],
        [phrase('Points'), ({ points }) => points.length || unknownText, 'figure'],
        [
          phrase('At 0, {weightSymbol}', { weightSymbol: weight.symbol }),
          ({ line }) =>
            line ? `${weight.figure(Math.round(line.a / 10) * 10)} ${weight.plusMinusFigure(line.uA)}` : unknownText,
          'figure',
        ],
        [
          phrase('Slope, {slopeSymbol}', { slopeSymbol: slope.symbol }),
          ({ line }) => (line ? `${slope.figure(line.b)} ${slope.plusMinusFigure(line.uB)}` : unknownText),
          'figure',
        ],
        [phrase('χ² of its 95 % bound'), agreement, 'nowrap'],
        [
          phrase('Void'),
          ({ id, calibratedAt, voidedAt }) =>
            voidedAt === null && (
              <VoidCalibration
                name={times.moment(calibratedAt)}
                onVoid={(answer) => client.weighIn.voidCalibration({ id, ...answer })}
              />
            ),
          'steps',
        ],
      ]}
    />
  )
}

/** Some facts in a row, as far as they are known. */
const listed = (facts: readonly (string | false)[]) => facts.filter(Boolean).join(', ')

/** The circuits of a group with the sensors that sit on them. */
export function CircuitList({ circuits, asOf }: Pick<GroupView, 'circuits'> & { asOf: string }) {
  const { area, height, pressure, times } = useMeasures()
  if (circuits.length === 0) return <p className="sheet-none">{phrase('No circuit recorded.')}</p>
  const sensors = circuits.flatMap(({ name, sensors: own }) => own.map((sensor) => ({ ...sensor, circuit: name })))
  return (
    <>
      <ul className="circuit-springs">
        {circuits.map(({ name, airSprings, springAreaIn2, rideHeightIn }) => (
          <li key={name}>
            <strong>{name}</strong>:{' '}
            {listed([
              airSprings !== null && phrase('{airSprings} air springs', { airSprings }),
              springAreaIn2 !== null && phrase('{springAreaIn2} each', { springAreaIn2: area.text(springAreaIn2) }),
              rideHeightIn !== null &&
                phrase('ride height {rideHeightIn}', { rideHeightIn: height.text(rideHeightIn) }),
            ]) || phrase('springs not recorded')}
          </li>
        ))}
      </ul>
      {sensors.length === 0 ? (
        <p className="sheet-none">{phrase('No sensor recorded.')}</p>
      ) : (
        <SheetTable
          caption={phrase('Sensors')}
          rows={sensors}
          keyOf={({ circuit, serial, mountedAt }) => `${circuit} ${serial} ${mountedAt}`}
          columns={[
            [phrase('Circuit'), ({ circuit }) => circuit],
            [
              phrase('Sensor'),
              ({ serial, reference }) => (
                <>
                  {serial}
                  <span className="quiet"> {word(reference)}</span>
                </>
              ),
            ],
            [
              phrase('Mounted'),
              ({ mountedAt, removedAt }) =>
                times.day(mountedAt) +
                (removedAt === null ? '' : phrase(' to {removedAt}', { removedAt: times.day(removedAt) })),
              'nowrap',
            ],
            [
              phrase('Cell'),
              ({ cell, cellSince }) =>
                (cell ?? unknownText) +
                (cellSince === null
                  ? ''
                  : phrase(', in for {cellSince} d', { cellSince: count(times.daysFrom(cellSince, asOf)) })),
              'nowrap',
            ],
            [
              phrase('Reports'),
              ({ resolutionPsi, reportEveryS }) =>
                listed([
                  resolutionPsi !== null &&
                    phrase('steps of {resolutionPsi}', { resolutionPsi: pressure.text(resolutionPsi) }),
                  reportEveryS !== null && phrase('every {reportEveryS} s', { reportEveryS: count(reportEveryS) }),
                ]) || unknownText,
              'nowrap',
            ],
          ]}
        />
      )}
    </>
  )
}

/** Work done on the unit, newest first. */
export function EventList({ events }: Pick<UnitSheetView, 'events'>) {
  const { times } = useMeasures()
  if (events.length === 0) return <p className="sheet-none">{phrase('No event recorded.')}</p>
  return (
    <SheetTable
      caption={phrase('Events, newest first')}
      rows={events.toSorted((a, b) => b.happenedAt.localeCompare(a.happenedAt))}
      keyOf={({ happenedAt, kind, group, circuit, note }) => `${happenedAt} ${kind} ${group} ${circuit} ${note}`}
      columns={[
        [phrase('When'), ({ happenedAt }) => times.moment(happenedAt), 'nowrap'],
        [phrase('What'), ({ kind }) => word(kind)],
        [phrase('Where'), ({ group, circuit }) => [group, circuit].filter(Boolean).join(', ') || phrase('whole unit')],
        [phrase('Note'), ({ note }) => note],
      ]}
    />
  )
}

type Reading = UnitSheetView['readings'][number]

/** The newest readings of the unit, with the ticket each belongs to. */
export function ReadingList({ readings }: Pick<UnitSheetView, 'readings'>) {
  const { weight, pressure, times } = useMeasures()
  if (readings.length === 0) return <p className="sheet-none">{phrase('No reading recorded.')}</p>
  const circuits = new Map(
    readings.flatMap(({ pressures }) => pressures.map((each) => [`${each.group} ${each.circuit}`, each] as const)),
  )
  return (
    <SheetTable
      caption={phrase('Newest readings, pressures in {pressureSymbol} as read', { pressureSymbol: pressure.symbol })}
      rows={readings}
      keyOf={({ reading }) => reading}
      columns={[
        [phrase('Taken'), ({ takenAt }) => times.moment(takenAt), 'nowrap'],
        [
          phrase('Reading'),
          ({ reading, readingId }) => <a href={hrefOf('reading', String(readingId))}>{reading}</a>,
          'nowrap',
        ],
        [
          phrase('Ticket'),
          ({ ticketId, ticket, scale }) =>
            ticket === null ? null : <TicketLink id={ticketId} number={ticket} scale={scale} />,
        ],
        [phrase('Lift axle'), ({ lift }) => (lift === null ? unknownText : word(lift))],
        ...Array.from(
          circuits.values(),
          ({ group, circuit }) =>
            [
              `${group === circuit ? group : `${group} ${circuit}`}, ${pressure.symbol}`,
              ({ pressures }: Reading) => {
                const found = pressures.find((each) => each.group === group && each.circuit === circuit)
                return found && pressure.figure(found.psi)
              },
              'figure',
            ] as const,
        ),
        ...Array.from(
          new Set(readings.flatMap(({ weights }) => weights.map(({ group }) => group))),
          (group) =>
            [
              `${group}, ${weight.symbol}`,
              ({ weights }: Reading) => {
                const found = weights.find((each) => each.group === group)
                return found && `${weight.estimateFigure(found.weightLb)} ${weight.plusMinusFigure(found.uLb)}`
              },
              'figure',
              phrase('What all evidence of today says that it weighed, with its 95 % interval'),
            ] as const,
        ),
      ]}
    />
  )
}
