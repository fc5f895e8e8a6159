import { Switch } from '@mantine/core'
import { screenHelp } from '#renderer/app/screen-help.ts'
import { screens } from '#renderer/app/screens.tsx'
import { hrefOf } from '#renderer/parts/address.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { useExampleShown } from '#renderer/parts/help-example.ts'
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

interface HelpProps {
  readonly opened: boolean
  /** The screen that is shown, by its name in the address. */
  readonly screen: string
  readonly onClose: () => void
}

/** What the screen is for and what its numbers mean, with an example of what is on it; then the keys. */
export function Help({ opened, screen, onClose }: HelpProps) {
  const [singleKeys, setSingleKeys] = useSingleKeys()
  const example = useExampleShown()
  const lines = screenHelp[screen]
  return (
    <Dialog opened={opened} onClose={onClose} title="Help" size="lg">
      {lines && (
        <section>
          <h3>{screens[screen]?.label}</h3>
          <ul>
            {lines.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
          {example !== null && (
            <p>
              <strong>Here:</strong> {example}
            </p>
          )}
        </section>
      )}
      <Keys title="Keys everywhere" rows={everywhere} />
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
