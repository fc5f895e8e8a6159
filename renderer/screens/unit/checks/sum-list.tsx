import type { SumView } from '#core/contracts/unit.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/links.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'

/** The weights of this group and another on one platform, held against both lines. */
export function SumList({ sums, name }: { sums: readonly SumView[]; name: string }) {
  const { weight, times } = useMeasures()
  if (sums.length === 0) return null
  return (
    <Section className="evidence" title="Weighed on one platform with another group" level={3}>
      <p className="evidence-words">
        The one weight is held against what both lines add up to. It tests both alike: which of the two is off only
        weighing them apart can tell, and no line is made of it.
      </p>
      <SheetTable
        frame="evidence-table"
        caption={`Weights with another group, ${name}`}
        rows={sums}
        keyOf={({ at, ticket, withGroup }) => `${at} ${ticket} ${withGroup}`}
        columns={[
          ['Weighed', ({ at }) => times.moment(at), 'nowrap'],
          ['Ticket', ({ ticketId, ticket, scale }) => <TicketLink id={ticketId} number={ticket} scale={scale} />],
          ['With', ({ withGroup }) => withGroup, 'nowrap'],
          [`Ticket, ${weight.symbol}`, ({ sumLb }) => weight.figure(sumLb), 'figure'],
          [`Both lines, ${weight.symbol}`, ({ expectedLb }) => weight.estimateFigure(expectedLb), 'figure'],
          [`Left for ${name}, ${weight.symbol}`, ({ leftLb }) => weight.estimateFigure(leftLb), 'figure'],
          [
            `Miss, 95 %, ${weight.symbol}`,
            ({ missLb, uMissLb }) => `${weight.difference(missLb)} ${weight.plusMinusFigure(uMissLb)}`,
            'figure',
          ],
          ['Since', ({ answered }) => (answered ? 'both weighed apart' : 'open'), 'nowrap'],
        ]}
      />
    </Section>
  )
}
