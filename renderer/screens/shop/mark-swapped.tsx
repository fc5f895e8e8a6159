import { NativeSelect, TextInput } from '@mantine/core'
import { type BatteryReason, batteryReasons } from '#core/words/vocabulary.ts'
import { client } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { SaveForm, useSaveForm } from '#renderer/parts/save-form.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import type { CellToSwap } from './shop-view.ts'

const reasonWords: Record<BatteryReason, string> = {
  scheduled: phrase('scheduled: it still worked'),
  low: phrase('low: it reported low'),
  dead: phrase('dead: it had stopped'),
  new: phrase('new: first cell of the sensor'),
}
const reasonChoices = batteryReasons.map((value) => ({ value, label: reasonWords[value] }))
const notSwapped = phrase('not swapped')

interface MarkSwappedProps {
  cells: readonly CellToSwap[]
  onDone: (said: string) => void
  onClose: () => void
}

/** The field of one cell's own reason; its text is empty where the reason of all holds. */
const ownField = (serial: string) => phrase('why {serial}', { serial })

function Form({ cells, onDone, onClose }: MarkSwappedProps) {
  const { times } = useMeasures()
  const one = cells.length === 1
  const allDead = cells.every(({ reason }) => reason === 'dead')
  const form = useSaveForm<Record<string, string>, { swapped: number }>({
    start: {
      on: times.today(),
      cell: '',
      reason: allDead ? 'dead' : (one && cells[0]?.reason) || 'scheduled',
      // One that is most likely dead is marked so among others that still worked.
      ...Object.fromEntries(
        cells.map(({ serial, reason }) => [ownField(serial), reason === 'dead' && !allDead ? 'dead' : '']),
      ),
    },
    check: (texts): Record<string, string> =>
      cells.some(({ serial }) => texts[ownField(serial)] !== notSwapped)
        ? {}
        : { reason: phrase('No cell is left to mark: choose a reason for one at least.') },
    save: (texts, by) =>
      client.bench.markSwapped({
        cells: cells.flatMap(({ serial }) => {
          const own = texts[ownField(serial)] || texts['reason']
          const reason = batteryReasons.find((each) => each === own)
          return reason === undefined ? [] : { serial, reason }
        }),
        on: texts['on'] ?? '',
        cell: texts['cell']?.trim() || null,
        by,
      }),
    onSaved: ({ swapped }) =>
      onDone(
        phrase('{swapped} marked swapped.', {
          swapped: swapped === 1 ? phrase('1 cell is') : phrase('{swapped} cells are', { swapped: count(swapped) }),
        }),
      ),
  })
  return (
    <SaveForm
      form={form}
      saveLabel={phrase('Mark swapped')}
      failed={phrase('Nothing was recorded')}
      cancelLabel={phrase('Cancel')}
      onCancel={onClose}
    >
      {one && (
        <p>
          <Phrase
            text="The cell of sensor {serial} <span>{place}</span>"
            with={{
              serial: cells[0]?.serial,
              span: (words) => <span className="quiet">{words}</span>,
              place: cells[0]?.place,
            }}
          />
        </p>
      )}
      <div className="shop-swap">
        <TextInput label={phrase('Swapped on')} type="date" data-autofocus {...form.field('on')} />
        <NativeSelect
          label={one ? phrase('Why') : phrase('Why, of all')}
          data={reasonChoices}
          {...form.field('reason')}
        />
        <TextInput
          label={phrase('New cell')}
          description={phrase('empty: the type on record for each sensor')}
          inputWrapperOrder={['label', 'input', 'description', 'error']}
          autoComplete="off"
          {...form.field('cell')}
        />
      </div>
      {!one && (
        <SheetTable
          caption={phrase('Cells to mark swapped')}
          frame="shop-swap-cells"
          rows={cells}
          keyOf={({ serial }) => serial}
          columns={[
            [phrase('Sensor'), ({ serial }) => serial, 'nowrap'],
            [phrase('On'), ({ place }) => place],
            [
              phrase('Why, of this one'),
              ({ serial }) => (
                <NativeSelect
                  aria-label={phrase('Why, {serial}', { serial })}
                  {...form.field(ownField(serial))}
                  data={[
                    { value: '', label: phrase('as above') },
                    ...reasonChoices,
                    { value: notSwapped, label: phrase('not swapped: leave it out') },
                  ]}
                />
              ),
            ],
          ]}
        />
      )}
      <p className="quiet">
        {phrase('Each is recorded on its own. Old cells are no toys: keep them from children, and recycle them.')}
      </p>
    </SaveForm>
  )
}

/** Records the swaps of many cells in one go: one day for all, and a reason for each. */
export function MarkSwapped(props: MarkSwappedProps & { opened: boolean }) {
  return (
    <Dialog
      opened={props.opened}
      onClose={props.onClose}
      title={
        props.cells.length > 1
          ? phrase('Mark {cells} cells swapped', { cells: count(props.cells.length) })
          : phrase('Mark cells swapped')
      }
      size={props.cells.length > 1 ? 'lg' : 'md'}
    >
      <Form {...props} />
    </Dialog>
  )
}
