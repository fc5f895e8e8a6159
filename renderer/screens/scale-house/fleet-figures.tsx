import { count, ratio, useMeasures } from '#renderer/parts/format.ts'
import { hrefOf } from '#renderer/parts/address.ts'

interface Figure {
  readonly value: number
  readonly u: number | null
  readonly checks: number
}

const nbsp = '\u00a0'

function FigureRow({
  name,
  about,
  figure: { value, u, checks },
  unit,
  rule,
}: {
  name: string
  about: string
  figure: Figure
  unit: string
  rule: string
}) {
  return (
    <div>
      <dt>
        {name}
        <span className="quiet">{about}</span>
      </dt>
      <dd>
        <strong>
          {u === null ? `${ratio(value)}${nbsp}${unit}` : `${ratio(value)} ±${nbsp}${ratio(2 * u)}${nbsp}${unit}`}
        </strong>
        <span className="quiet">
          {u === null ? (
            <>
              <a href={hrefOf('house-rules', null, { text: rule })}>House Rules</a>, until the fleet’s own history is
              long enough
            </>
          ) : (
            `95 %, from ${count(checks)} check weighings of the fleet`
          )}
        </span>
      </dd>
    </div>
  )
}

/**
 * What the fleet’s own history says about how well pressures repeat and lines last; the House Rules while it is too
 * short.
 */
export function FleetFigures({ leveling, wander }: { leveling: Figure; wander: Figure }) {
  const { pressure } = useMeasures()
  const shown = ({ value, u, checks }: Figure): Figure => ({
    value: pressure.shown(value),
    u: u === null ? null : pressure.shown(u),
    checks,
  })
  return (
    <dl className="fleet-figures">
      <FigureRow
        name="Leveling repeatability"
        about="how closely one load gives the same pressure again"
        figure={shown(leveling)}
        unit={pressure.symbol}
        rule="leveling"
      />
      <FigureRow
        name="Wander of a line"
        about="how far a healthy line moves in a month"
        figure={shown(wander)}
        unit={`${pressure.symbol} per root month`}
        rule="wander"
      />
    </dl>
  )
}
