import { Button, NativeSelect } from '@mantine/core'
import { keepPreviousData, useMutation, useQuery } from '@tanstack/react-query'
import type { BenchOrderView } from '#core/contracts/bench.ts'
import { money } from '#core/words/text.ts'
import { ranges } from '#core/words/vocabulary.ts'
import { api, client } from '#renderer/client/api.ts'
import { changeParams, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { count, decimal } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { Section } from '#renderer/parts/section.tsx'
import { type Columns, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { namesOfDays } from '#core/words/numbers.ts'
import { FigureCell } from './figure-cell.tsx'
import { yardName } from './shop-view.ts'

type Row = BenchOrderView['rows'][number]
type Price = BenchOrderView['prices'][number]
type Format = Parameters<typeof client.bench.orderFile>[0]['format']

const cellName = (cell: string | null): string => cell ?? phrase('unknown type')
const monthName = namesOfDays({ month: 'short', year: 'numeric' })
const monthText = (month: string): string => monthName(Date.parse(`${month}-01`))

/** What is expected, and below it the range that holds it in eight cases of ten. */
function Need({ need: { expected, low, high } }: { need: Row['need'] }) {
  if (high === 0 && expected < 0.05) return <span className="quiet">0</span>
  return (
    <>
      {expected < 10 ? decimal(expected) : count(expected)}
      <span className="shop-range">{phrase('{low} to {high}', { low: count(low), high: count(high) })}</span>
    </>
  )
}

const columnsOf = ({ months, through }: BenchOrderView): Columns<Row> => [
  [phrase('Cell'), ({ cell }) => cellName(cell), 'nowrap'],
  [phrase('In service'), ({ cells }) => count(cells), 'figure'],
  [
    phrase('Needed'),
    ({ need }) => <Need need={need} />,
    'figure',
    phrase('From today through {through}', { through: monthText(through) }),
  ],
  [
    phrase('On hand'),
    ({ yard, cell, onHand }) =>
      cell === null ? (
        <span className="quiet">{phrase('name the type first')}</span>
      ) : (
        <FigureCell
          label={phrase('Cells on hand, {cell} at {yard}', { cell, yard: yardName(yard) })}
          value={onHand}
          range={ranges.cellsOnHand}
          whole
          placeholder={phrase('not counted')}
          save={(typed, was, by) => client.bench.setStock({ yard, cell, onHand: typed, was, by })}
        />
      ),
    'figure',
  ],
  [phrase('To order'), ({ toOrder }) => <strong>{count(toOrder)}</strong>, 'figure'],
  [phrase('Cost'), ({ dollars }) => money(dollars), 'figure'],
  ...months.map(
    (month, i) =>
      [
        monthText(month),
        (row: Row) => {
          const need = row.months[i]
          return need && <Need need={need} />
        },
        'figure',
        i === 0 ? phrase('The rest of this month') : undefined,
      ] as Columns<Row>[number],
  ),
]

const priceColumns: Columns<Price> = [
  [phrase('Cell'), ({ cell }) => cellName(cell), 'nowrap'],
  [
    phrase('Price each, $'),
    ({ cell, typed, dollars }) =>
      cell === null ? (
        money(dollars)
      ) : (
        <FigureCell
          label={phrase('Price of a {cell}, dollars', { cell })}
          value={typed}
          range={ranges.cellDollars}
          placeholder={phrase('{dollars}, House Rules', { dollars })}
          save={(price, was, by) => client.bench.setPrice({ cell, dollars: price, was, by })}
        />
      ),
    'figure',
  ],
  [phrase('To order'), ({ toOrder }) => count(toOrder), 'figure'],
  [phrase('Cost'), ({ total }) => money(total), 'figure'],
]

function Papers({ through }: { through: string }) {
  const make = useMutation({
    mutationFn: (format: Format) => client.bench.orderFile({ format, through }),
    onSuccess: saveFile,
  })
  const button = (format: Format, label: string) => (
    <Button loading={make.isPending && make.variables === format} onClick={() => make.mutate(format)}>
      {label}
    </Button>
  )
  return (
    <>
      <span className="shop-papers">
        {button('pdf', phrase('Order list (PDF)'))}
        {button('spreadsheet', phrase('Spreadsheet'))}
        {button('csv', 'CSV')}
      </span>
      {make.isError && <ProblemNotice title={phrase('It could not be written')} error={make.error} />}
    </>
  )
}

function Order({ order }: { order: BenchOrderView }) {
  const { months, through, rows, prices, dollars } = order
  if (rows.length === 0)
    return (
      <p className="shop-none">
        <Phrase
          text="No cell to order: no sensor sits on a unit in service. <link>Add units and sensors</link> first."
          with={{ link: (words) => <a href={hrefOf('fleet')}>{words}</a> }}
        />
      </p>
    )
  const total = prices.reduce((sum, { toOrder }) => sum + toOrder, 0)
  return (
    <div className="shop-order">
      <p className="shop-words">
        {phrase(
          'What each yard needs: cells that the plan swaps, and those that die before. The first figure is what is expected, the range below it holds the true number in eight cases of ten. The order covers the high end of its months, less what is on hand. A new cell is dead now and then: a spare or two beyond it are worth their price.',
        )}
      </p>
      <div className="flow shop-tools">
        <NativeSelect
          label={phrase('Order through')}
          value={through}
          data={months.map((month) => ({ value: month, label: monthText(month) }))}
          onChange={(event) => changeParams({ through: event.currentTarget.value }, { replace: true })}
        />
        <output className="shop-total">
          <strong>
            {count(total)} {total === 1 ? phrase('cell') : phrase('cells')}, {money(dollars)}
          </strong>
        </output>
        <Papers through={through} />
      </div>
      <SheetTable
        caption={phrase('Cells to order')}
        frame="shop-order-frame"
        className="shop-order-table"
        rows={rows}
        keyOf={({ yard, cell }) => JSON.stringify([yard, cell])}
        under={({ yard }) => (yard === null ? phrase('Units without a yard') : yard)}
        columns={columnsOf(order)}
      />
      <Section title={phrase('Prices')}>
        <SheetTable
          caption={phrase('Prices of cells')}
          className="shop-prices"
          rows={prices}
          keyOf={({ cell }) => cell ?? ''}
          columns={priceColumns}
        />
      </Section>
    </div>
  )
}

/** Which cells to buy for the next two quarters, by yard, and what they cost. */
export function OrderPart() {
  const through = useAddress().params.get('through')
  const input = through !== null && /^\d{4}-\d{2}$/.test(through) ? { through } : {}
  return (
    <Answer
      to={useQuery(api.bench.order.queryOptions({ input, placeholderData: keepPreviousData }))}
      waiting={phrase('Counting the cells that will be needed…')}
      failed={phrase('The order could not be worked out')}
    >
      {(order) => <Order order={order} />}
    </Answer>
  )
}
