import { type MantineColorScheme, useMantineColorScheme } from '@mantine/core'
import { type ReactNode, Suspense, useEffect, useRef, useState } from 'react'
import { KeyboardHelp } from '#renderer/app/keyboard-help.tsx'
import { PersonChip } from '#renderer/app/person-chip.tsx'
import { useFileState } from '#renderer/app/file-state.ts'
import { FleetInUse } from '#renderer/app/fleet-in-use.tsx'
import { QuickOpen } from '#renderer/app/quick-open.tsx'
import { ScreenBoundary, screens } from '#renderer/app/screens.tsx'
import { useShortcuts } from '#renderer/app/shortcuts.ts'
import { hrefOf, lastRosterHref, useAddress } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { useImportState } from '#renderer/screens/folder/picked-folder.ts'
import { useForeignState } from '#renderer/screens/foreign/foreign-screen.tsx'
import './shell.css'

/** Says on every other screen that an import is still under way, and leads to it. */
function ImportNote({ screen }: { screen: string }) {
  const folder = useImportState()
  const foreign = useForeignState()
  const [state, at] = foreign.phase === 'running' ? [foreign, 'foreign'] : [folder, 'folder']
  if (state.phase !== 'running' || screen === at) return null
  const { share } = state.progress
  return (
    <a className="bar-note" href={hrefOf(at)}>
      Bringing in {state.source}
      {share !== null && ` ${Math.floor(share * 100)} %`}
    </a>
  )
}

const next: Record<MantineColorScheme, MantineColorScheme> = { auto: 'light', light: 'dark', dark: 'auto' }
const words: Record<MantineColorScheme, string> = { auto: 'system', light: 'light', dark: 'dark' }

/** Light, dark, or as the system says. */
function SchemeSwitch() {
  const { colorScheme, setColorScheme } = useMantineColorScheme()
  return (
    <button
      type="button"
      className="bar-tool"
      onClick={() => setColorScheme(next[colorScheme])}
      title={`Change to ${words[next[colorScheme]]}`}
    >
      Colours: {words[colorScheme]}
    </button>
  )
}

interface BarProps {
  readonly screen: string
  readonly state: ReturnType<typeof useFileState>
  readonly onQuickOpen: () => void
  readonly onHelp: () => void
  readonly person: ReactNode
}

function Bar({ screen, state, onQuickOpen, onHelp, person }: BarProps) {
  return (
    <header className="bar">
      <a className="bar-name" href={hrefOf('about')} aria-label="About Tareline" title="About Tareline">
        <svg viewBox="0 0 20 16" width="20" height="16" aria-hidden="true">
          <path d="M1.5 0v14.5H20" fill="none" stroke="var(--t-bar-line)" strokeWidth="1.6" />
          <path d="M3.5 12.2 19 2" fill="none" stroke="currentColor" strokeWidth="2.2" />
        </svg>
        Tareline
      </a>
      <nav className="bar-nav" aria-label="Screens">
        {Object.entries(screens).map(
          ([name, { label, letter }]) =>
            letter && (
              <a
                key={name}
                href={name === 'roster' ? lastRosterHref() : hrefOf(name)}
                aria-current={name === screen ? 'page' : undefined}
              >
                {label}
              </a>
            ),
        )}
      </nav>
      <button type="button" className="bar-find" onClick={onQuickOpen}>
        Go to unit <kbd>Ctrl K</kbd>
      </button>
      <span className="bar-file">
        <ImportNote screen={screen} />
        {state.isClosed && (
          <a className="bar-note" href={hrefOf('copies')}>
            No fleet file is open
          </a>
        )}
        {state.isError && !state.isClosed && <span role="alert">{problemText(state.error)}</span>}
        {state.data && !state.isClosed && (
          <>
            {state.data.mended !== null && (
              <a className="bar-note" href={hrefOf('copies')}>
                File mended
              </a>
            )}
            {state.data.copyFailure !== null && (
              <a className="bar-note" href={hrefOf('copies')}>
                Today’s copy failed
              </a>
            )}
            <a className="bar-file-name" href={hrefOf('copies')} title={`${state.data.file}: its copies`}>
              {state.data.demo ? 'Demo fleet' : state.data.file.split(/[\\/]/).at(-1)}
              <span className="unheard">, its copies</span>
            </a>
            <span className="bar-revision">revision {count(state.data.revision)}</span>
          </>
        )}
      </span>
      {person}
      <SchemeSwitch />
      <button type="button" className="bar-tool" onClick={onHelp} aria-label="Keyboard help">
        ?
      </button>
    </header>
  )
}

/** The frame around every screen: where one stands, the way elsewhere, and where the focus goes on arrival. */
export function Shell() {
  const { screen: asked, subject } = useAddress()
  // While no fleet file is open, every address but what helps leads to its copies; the screen asked for is drawn once
  // one is.
  const state = useFileState()
  const screen = state.isClosed && asked !== 'about' ? 'copies' : asked
  const [dialog, setDialog] = useState<'quick-open' | 'help' | 'person' | null>(null)
  const main = useRef<HTMLElement>(null)
  const place = `${screen}/${subject ?? ''}`
  const arrivedFrom = useRef(place)
  const definition = screens[screen]
  useShortcuts({
    quickOpen: () => setDialog('quick-open'),
    help: () => setDialog('help'),
    person: () => setDialog('person'),
  })

  useEffect(() => {
    if (arrivedFrom.current === place) return
    arrivedFrom.current = place
    const target = main.current?.querySelector<HTMLElement>('[data-arrival]') ?? main.current
    target?.focus({ preventScroll: true })
  }, [place])

  return (
    <div className="shell">
      <button type="button" className="skip" onClick={() => main.current?.focus()}>
        Skip to the screen
      </button>
      <Bar
        screen={screen}
        state={state}
        onQuickOpen={() => setDialog('quick-open')}
        onHelp={() => setDialog('help')}
        person={
          <PersonChip opened={dialog === 'person'} onOpen={() => setDialog('person')} onClose={() => setDialog(null)} />
        }
      />
      <main ref={main} id="main" className="shell-main" tabIndex={-1}>
        <FleetInUse>
          <ScreenBoundary key={place}>
            <Suspense fallback={<output className="shell-wait">Opening…</output>}>
              {definition ? <definition.component subject={subject} /> : <NoSuchScreen />}
            </Suspense>
          </ScreenBoundary>
        </FleetInUse>
      </main>
      <QuickOpen opened={dialog === 'quick-open'} onClose={() => setDialog(null)} />
      <KeyboardHelp opened={dialog === 'help'} onClose={() => setDialog(null)} />
    </div>
  )
}

function NoSuchScreen() {
  return (
    <div className="shell-wait">
      <ScreenTitle>No such screen</ScreenTitle>
      <p>
        The address names a screen that does not exist. <a href={hrefOf('roster')}>Open the Roster</a>
      </p>
    </div>
  )
}
