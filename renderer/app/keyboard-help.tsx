import { Switch } from '@mantine/core'
import { screens } from '#renderer/app/screens.tsx'
import { hrefOf } from '#renderer/parts/address.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { useSingleKeys } from '#renderer/parts/single-keys.ts'
import '#renderer/parts/facts.css'

type Row = readonly [keys: readonly string[], what: string]

const everywhere: Row[] = [
  [['Ctrl', 'K'], 'Go to a unit or a screen'],
  [['/'], 'The same, with one key'],
  ...Object.values(screens).flatMap(({ label, letter }): Row[] => (letter ? [[['g', letter], `Open ${label}`]] : [])),
  [['p'], 'Say who is at the counter'],
  [['?'], 'This help'],
  [['Esc'], 'Close a window, empty a search field'],
]
const onTheRoster: Row[] = [
  [['↑', '↓'], 'Select the unit above or below'],
  [['Page Up', 'Page Down'], 'A page of units up or down'],
  [['Home', 'End'], 'First or last unit'],
  [['Enter'], 'Open the selected unit'],
]
const onTheSheet: Row[] = [
  [['←', '→'], 'Another axle group, with the focus on a group’s tab'],
  [
    ['←', '→'],
    'Read the line step by step, the track and the checks from weighing to weighing, with the focus on a chart',
  ],
]

const onTheHeavyLog: Row[] = [
  [['↑', '↓'], 'Choose the weight above or below'],
  [['Enter'], 'Write the driver’s note of the chosen weight'],
  [['Ctrl', 'Enter'], 'Save the note and go back to the list'],
]
const onTheShopBench: Row[] = [
  [['a'], 'Choose the cells of every visit shown, or none'],
  [['m'], 'Mark the chosen cells swapped'],
]

function Keys({ title, rows }: { title: string; rows: readonly Row[] }) {
  return (
    <section>
      <h3>{title}</h3>
      <dl className="facts keys" data-as="lines">
        {rows.map(([keys, what]) => (
          <div key={what}>
            <dt>
              {keys.map((key) => (
                <kbd key={key}>{key}</kbd>
              ))}
            </dt>
            <dd>{what}</dd>
          </div>
        ))}
      </dl>
    </section>
  )
}

export function KeyboardHelp({ opened, onClose }: { opened: boolean; onClose: () => void }) {
  const [singleKeys, setSingleKeys] = useSingleKeys()
  return (
    <Dialog opened={opened} onClose={onClose} title="Keyboard" size="lg">
      <Keys title="Everywhere" rows={everywhere} />
      <Keys title="On the Roster" rows={onTheRoster} />
      <Keys title="On a Unit sheet" rows={onTheSheet} />
      <Keys title="On the Heavy Log" rows={onTheHeavyLog} />
      <Keys title="On the Shop Bench" rows={onTheShopBench} />
      <Switch
        checked={singleKeys}
        onChange={(event) => setSingleKeys(event.currentTarget.checked)}
        label="Keys that work alone (/, ?, p, g, a, m)"
        size="xs"
      />
      <p>
        <a href={hrefOf('about')} onClick={onClose}>
          About Tareline
        </a>
        : versions, where the files lie, licences, and a bundle for whoever helps.
      </p>
    </Dialog>
  )
}
