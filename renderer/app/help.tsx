import { Switch } from '@mantine/core'
import { screenHelp } from '#renderer/app/screen-help.ts'
import { screens } from '#renderer/app/screens.tsx'
import { hrefOf } from '#renderer/parts/address.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { useExampleShown } from '#renderer/parts/help-example.ts'
import { useSingleKeys } from '#renderer/parts/single-keys.ts'
import '#renderer/parts/facts.css'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

type Row = readonly [keys: readonly string[], what: string]

const everywhere: Row[] = [
  [[phrase('Ctrl'), 'K'], phrase('Go to a unit or a screen')],
  [['/'], phrase('The same, with one key')],
  ...Object.values(screens).flatMap(({ label, letter }): Row[] =>
    letter ? [[['g', letter], phrase('Open {label}', { label })]] : [],
  ),
  [['p'], phrase('Say who is at the counter')],
  [['?'], phrase('This help')],
  [[phrase('Esc')], phrase('Close a window, empty a search field')],
]
const onTheRoster: Row[] = [
  [['↑', '↓'], phrase('Select the unit above or below')],
  [[phrase('Page Up'), phrase('Page Down')], phrase('A page of units up or down')],
  [['Home', 'End'], phrase('First or last unit')],
  [['Enter'], phrase('Open the selected unit')],
]
const onTheSheet: Row[] = [
  [['←', '→'], phrase('Another axle group, with the focus on a group’s tab')],
  [
    ['←', '→'],
    phrase('Read the line step by step, the track and the checks from weighing to weighing, with the focus on a chart'),
  ],
]

const onTheHeavyLog: Row[] = [
  [['↑', '↓'], phrase('Choose the weight above or below')],
  [['Enter'], phrase('Write the driver’s note of the chosen weight')],
  [[phrase('Ctrl'), 'Enter'], phrase('Save the note and go back to the list')],
]
const onTheShopBench: Row[] = [
  [['a'], phrase('Choose the cells of every visit shown, or none')],
  [['m'], phrase('Mark the chosen cells swapped')],
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
    <Dialog opened={opened} onClose={onClose} title={phrase('Help')} size="lg">
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
              <strong>{phrase('Here:')}</strong> {example}
            </p>
          )}
        </section>
      )}
      <Keys title={phrase('Keys everywhere')} rows={everywhere} />
      <Keys title={phrase('On the Roster')} rows={onTheRoster} />
      <Keys title={phrase('On a Unit sheet')} rows={onTheSheet} />
      <Keys title={phrase('On the Heavy Log')} rows={onTheHeavyLog} />
      <Keys title={phrase('On the Shop Bench')} rows={onTheShopBench} />
      <Switch
        checked={singleKeys}
        onChange={(event) => setSingleKeys(event.currentTarget.checked)}
        label={phrase('Keys that work alone (/, ?, p, g, a, m)')}
        size="xs"
      />
      <p>
        <Phrase
          text="<link>About Tareline</link>: versions, where the files lie, licenses, and a bundle for whoever helps."
          with={{
            link: (words) => (
              <a href={hrefOf('about')} onClick={onClose}>
                {words}
              </a>
            ),
          }}
        />
      </p>
    </Dialog>
  )
}
