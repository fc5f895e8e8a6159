import type { SumView } from '#core/contracts/unit.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/links.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'

/** The weights of this group and another on one platform, held against both lines. */
export function SumList({ sums, name }: { sums: readonly SumView[]; name: string }) {
  const { weight, times } = useMeasures()
  if (sums.length === 0) return null
  return (
    <Section className="evidence" title={phrase('Weighed on one platform with another group')} level={3}>
      <p className="evidence-words">
        {phrase(
          'The one weight is held against what both lines add up to. It tests both alike: which of the two is off only weighing them apart can tell, and no line is made of it.',
        )}
      </p>
      <SheetTable
        frame="evidence-table"
        caption={phrase('Weights with another group, {name}', { name })}
        rows={sums}
        keyOf={({ at, ticket, withGroup }) => `${at} ${ticket} ${withGroup}`}
        columns={[
          [phrase('Weighed'), ({ at }) => times.moment(at), 'nowrap'],
          [
            phrase('Ticket'),
            ({ ticketId, ticket, scale }) => <TicketLink id={ticketId} number={ticket} scale={scale} />,
          ],
          [phrase('With'), ({ withGroup }) => withGroup, 'nowrap'],
          [
            phrase('Ticket, {weightSymbol}', { weightSymbol: weight.symbol }),
            ({ sumLb }) => weight.figure(sumLb),
            'figure',
          ],
          [
            phrase('Both lines, {weightSymbol}', { weightSymbol: weight.symbol }),
            ({ expectedLb }) => weight.estimateFigure(expectedLb),
            'figure',
          ],
          [
            phrase('Left for {name}, {weightSymbol}', { name, weightSymbol: weight.symbol }),
            ({ leftLb }) => weight.estimateFigure(leftLb),
            'figure',
          ],
          [
            phrase('Miss, 95 %, {weightSymbol}', { weightSymbol: weight.symbol }),
            ({ missLb, uMissLb }) => `${weight.difference(missLb)} ${weight.plusMinusFigure(uMissLb)}`,
            'figure',
          ],
          [phrase('Since'), ({ answered }) => (answered ? phrase('both weighed apart') : phrase('open')), 'nowrap'],
        ]}
      />
    </Section>
  )
}
