import { useMemo } from 'react'
import { XAxis } from 'recharts'
import { chance, count } from '#renderer/parts/format.ts'
import { Band, Curve, Level, Plot, QuantityAxis, ReadOut, axisStyle, labelStyle } from '#renderer/parts/plot.tsx'
import { phrase } from '#core/words/phrase.ts'
import { type LifeRow, type LifeStratum, lifeRows, stratumName } from './life-words.ts'

function Reading({ row: { days, seen, law, lawBand } }: { row: LifeRow }) {
  return (
    <div className="chart-reading">
      <strong>{phrase('{days} days', { days: count(days) })}</strong>
      {seen !== undefined && <div>{phrase('{seen} still alive on record', { seen: chance(seen) })}</div>}
      {law !== undefined && (
        <div>
          {phrase('{law} by the law', { law: chance(law) })}{' '}
          {lawBand && (
            <span className="quiet">
              {phrase('({chance} to {chance2})', { chance: chance(lawBand[0]), chance2: chance(lawBand[1]) })}
            </span>
          )}
        </div>
      )}
    </div>
  )
}

/** Share of cells still alive by age: as steps from the record, as a curve from the law behind the swap dates. */
export default function LifeChart({ stratum }: { stratum: LifeStratum }) {
  const rows = useMemo(() => lifeRows(stratum), [stratum])
  const { swapAgeDays, predictedLifeDays } = stratum
  return (
    <Plot
      name="life"
      title={phrase(
        'Cells still alive by age, {stratum}. The arrow keys go along the ages; the table holds the numbers.',
        { stratum: stratumName(stratum) },
      )}
      heightPx={320}
      rows={rows}
      margin={{ bottom: 16 }}
    >
      <XAxis
        {...axisStyle}
        dataKey="days"
        type="number"
        domain={[0, 'dataMax']}
        tickFormatter={count}
        label={{ ...labelStyle, value: phrase('Age, days'), position: 'insideBottom', offset: -8 }}
      />
      <QuantityAxis
        name={phrase('Still alive')}
        domain={[0, 1]}
        ticks={[0, 0.25, 0.5, 0.75, 1]}
        tickFormatter={(share: number) => `${count(100 * share)} %`}
      />
      <Band dataKey="lawBand" fillOpacity={0.2} connectNulls />
      <Band
        dataKey="seenBand"
        type="stepAfter"
        stroke="var(--t-line-strong)"
        strokeDasharray="2 3"
        fill="none"
        connectNulls
      />
      <Curve dataKey="law" connectNulls />
      <Curve dataKey="seen" type="stepAfter" stroke="var(--t-ink)" strokeWidth={1.6} connectNulls />
      <Level
        x={swapAgeDays}
        text={phrase('swap a new one by day {swapAgeDays}', { swapAgeDays: count(swapAgeDays) })}
        at="insideBottomRight"
      />
      <Level
        x={predictedLifeDays}
        stroke="var(--t-line-strong)"
        strokeDasharray="none"
        at="insideBottomRight"
        offset={24}
        text={phrase('half have failed by day {predictedLifeDays}', { predictedLifeDays: count(predictedLifeDays) })}
      />
      <ReadOut rows={rows} at={({ days }) => days}>
        {(row) => <Reading row={row} />}
      </ReadOut>
    </Plot>
  )
}
