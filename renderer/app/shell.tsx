import { type MantineColorScheme, useMantineColorScheme } from '@mantine/core'
import { type ReactNode, Suspense, useEffect, useEffectEvent, useRef, useState } from 'react'
import { aRole } from '#core/words/roles.ts'
import type { FileState } from '#core/contracts/file.ts'
import { AllowPlace } from '#renderer/app/allow-place.tsx'
import { AwayStrip } from '#renderer/app/away-strip.tsx'
import { Help } from '#renderer/app/help.tsx'
import { PersonChip } from '#renderer/app/person-chip.tsx'
import { SignedInChip } from '#renderer/app/signed-in-chip.tsx'
import { useFileState } from '#renderer/app/file-state.ts'
import { FleetInUse } from '#renderer/app/fleet-in-use.tsx'
import { FollowStrip } from '#renderer/app/follow-strip.tsx'
import { LookStrip } from '#renderer/app/look-strip.tsx'
import { QuickOpen } from '#renderer/app/quick-open.tsx'
import {
  DrawnScreen,
  ScreenBoundary,
  fetchScreen,
  fetchScreens,
  openTo,
  screens,
  sectionOf,
  sectionsFor,
} from '#renderer/app/screens.tsx'
import { useShortcuts } from '#renderer/app/shortcuts.ts'
import { hrefOf, lastRosterHref, useAddress } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { useMay, useStanding } from '#renderer/parts/rights.ts'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { useImportState } from '#renderer/screens/folder/picked-folder.ts'
import { useForeignState } from '#renderer/screens/foreign/foreign-run.ts'
import { ChangedNote, TogetherHere } from '#renderer/app/together.tsx'
import { usePrintInLight } from '#renderer/app/print.ts'
import { chooseLanguage, recallLanguage } from '#renderer/client/speech.ts'
import { LanguageSwitch } from '#renderer/parts/language-switch.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import './print.css'
import './shell.css'
import './thumbs.css'

/** Says on every other screen that an import is still under way, and leads to it. */
function ImportNote({ screen }: { screen: string }) {
  const folder = useImportState()
  const foreign = useForeignState()
  const [state, at] = foreign.phase === 'running' ? [foreign, 'foreign'] : [folder, 'folder']
  if (state.phase !== 'running' || screen === at) return null
  const { share } = state.progress
  return (
    <a className="bar-note" href={hrefOf(at)}>
      {phrase('Importing {source}{share}', {
        source: state.source,
        share: share !== null && ` ${Math.floor(share * 100)} %`,
      })}
    </a>
  )
}

const next: Record<MantineColorScheme, MantineColorScheme> = { auto: 'light', light: 'dark', dark: 'auto' }
const words: Record<MantineColorScheme, string> = {
  auto: phrase('system'),
  light: phrase('light'),
  dark: phrase('dark'),
}

/** Light, dark, or as the system says. */
function SchemeSwitch() {
  const { colorScheme, setColorScheme } = useMantineColorScheme()
  return (
    <button
      type="button"
      className="bar-tool"
      onClick={() => setColorScheme(next[colorScheme])}
      aria-label={phrase('Colors: {words}', { words: words[colorScheme] })}
      title={phrase('Change to {words}', { words: words[next[colorScheme]] })}
    >
      <span aria-hidden="true">◐</span> {words[colorScheme]}
    </button>
  )
}

const hrefOfScreen = (name: string) => (name === 'roster' ? lastRosterHref() : hrefOf(name))

/** The sections, and the screens of each: of the one that is open in a wide window, of all in a narrow one. */
function Sections({ screen }: { screen: string }) {
  const open = sectionOf(screen)
  const standing = useStanding()
  return (
    <nav className="bar-nav" aria-label={phrase('Screens')}>
      <ul className="bare">
        {sectionsFor(standing).map((section) => {
          const { label, shown } = section
          const [first = ''] = shown
          const more = shown.length > 1
          return (
            <li key={label} data-open={label === open?.label || undefined}>
              <a
                className="bar-section"
                href={hrefOfScreen(first)}
                aria-current={label === open?.label ? (more ? 'true' : 'page') : undefined}
              >
                {label}
              </a>
              {more && (
                <ul className="bare bar-screens" aria-label={phrase('Screens of {label}', { label })}>
                  {shown.map((name) => (
                    <li key={name}>
                      <a href={hrefOfScreen(name)} aria-current={name === screen ? 'page' : undefined}>
                        {screens[name]?.label}
                      </a>
                    </li>
                  ))}
                </ul>
              )}
            </li>
          )
        })}
      </ul>
    </nav>
  )
}

const fileName = ({ demo, file }: FileState): string =>
  demo ? phrase('Demo fleet') : (file.split(/[\\/]/).at(-1) ?? file)

interface BarProps {
  readonly screen: string
  /** Where the window stands: going elsewhere folds the bar again. */
  readonly place: string
  readonly state: ReturnType<typeof useFileState>
  readonly onQuickOpen: () => void
  readonly onHelp: () => void
  readonly person: ReactNode
}

function Bar({ screen, place, state, onQuickOpen, onHelp, person }: BarProps) {
  const [unfolded, setUnfolded] = useState(false)
  const [at, setAt] = useState(place)
  if (at !== place) {
    setAt(place)
    setUnfolded(false)
  }
  const fold = useRef<HTMLButtonElement>(null)
  const may = useMay()
  const standing = useStanding()
  const section = sectionsFor(standing).find(({ label }) => label === sectionOf(screen)?.label)
  useEffect(() => {
    if (!unfolded) return
    const foldAgain = (event: KeyboardEvent) => {
      if (event.key !== 'Escape' || document.querySelector('[role="dialog"]')) return
      setUnfolded(false)
      fold.current?.focus()
    }
    addEventListener('keydown', foldAgain)
    return () => removeEventListener('keydown', foldAgain)
  }, [unfolded])
  return (
    <header
      className="bar"
      data-rows={section && section.shown.length > 1 ? 2 : 1}
      data-unfolded={unfolded || undefined}
    >
      <a
        className="bar-name"
        href={hrefOf('about')}
        aria-label={phrase('About Tareline')}
        title={phrase('About Tareline')}
      >
        <svg viewBox="0 0 20 16" width="20" height="16" aria-hidden="true">
          <path d="M1.5 0v14.5H20" fill="none" stroke="var(--t-bar-line)" strokeWidth="1.6" />
          <path d="M3.5 12.2 19 2" fill="none" stroke="currentColor" strokeWidth="2.2" />
        </svg>
        <span>Tareline</span>
      </a>
      <button
        ref={fold}
        type="button"
        className="bar-tool bar-unfold"
        aria-expanded={unfolded}
        aria-controls="bar-fold"
        aria-label={phrase('{label}, all screens', { label: section?.label ?? phrase('Screens') })}
        onClick={() => setUnfolded(!unfolded)}
      >
        <span aria-hidden="true">{unfolded ? '✕' : '☰'}</span> {section?.label ?? phrase('Screens')}
      </button>
      <div className="bar-fold" id="bar-fold">
        <Sections screen={screen} />
        <span className="bar-file">
          <ImportNote screen={screen} />
          {state.isClosed && (
            <a className="bar-note" href={hrefOf('copies')}>
              {phrase('No fleet file is open')}
            </a>
          )}
          {state.isError && !state.isClosed && <span role="alert">{problemText(state.error)}</span>}
          {state.data && !state.isClosed && (
            <>
              {state.data.mended !== null && (
                <a className="bar-note" href={hrefOf('copies')}>
                  {phrase('File repaired')}
                </a>
              )}
              {state.data.careWarnings.length > 0 && (
                <a className="bar-note" href={hrefOf('safekeeping')}>
                  {state.data.careWarnings.includes('rehearsal-failed')
                    ? phrase('A rehearsed restore failed')
                    : phrase('No new copy at the second place')}
                </a>
              )}
              {state.data.copyFailure !== null && (
                <a className="bar-note" href={hrefOf('copies')}>
                  {phrase('Today’s copy failed')}
                </a>
              )}
              {may('copies.list') ? (
                <a
                  className="bar-file-name"
                  href={hrefOf('copies')}
                  title={phrase('{file}: its copies', { file: state.data.file })}
                >
                  {fileName(state.data)}
                  <span className="unheard">{phrase(', its copies')}</span>
                </a>
              ) : (
                <span className="bar-file-name">{fileName(state.data)}</span>
              )}
              <span className="bar-revision">
                {phrase('revision {revision}', { revision: count(state.data.revision) })}
              </span>
            </>
          )}
        </span>
        {person}
        <SchemeSwitch />
        <LanguageSwitch className="bar-tool" onChoose={(language) => void chooseLanguage(language)} />
      </div>
      {may('roster.list') && (
        <button type="button" className="bar-find" onClick={onQuickOpen}>
          <Phrase text="Go to unit <kbd>Ctrl K</kbd>" with={{ kbd: (words) => <kbd>{words}</kbd> }} />
        </button>
      )}
      <button type="button" className="bar-tool bar-help" onClick={onHelp} aria-label={phrase('Help')}>
        ?
      </button>
    </header>
  )
}

/** After the first screen is there, the others are fetched. */
const quietMs = 1500

/** Stands behind a screen, and tells when that is there. */
function Arrival({ onArrive }: { onArrive: () => void }) {
  const arrive = useEffectEvent(onArrive)
  useEffect(() => arrive(), [])
  return null
}

/** The frame around every screen: where one stands, the way elsewhere, and where the focus goes on arrival. */
export function Shell() {
  const { screen: asked, subject } = useAddress()
  // While no fleet file is open, every address but what helps leads to its copies; the screen asked for is drawn once
  // one is.
  const state = useFileState()
  const may = useMay()
  const standing = useStanding()
  const screen = state.isClosed && asked !== 'about' ? 'copies' : openTo(asked, standing)
  const [dialog, setDialog] = useState<'quick-open' | 'help' | 'person' | null>(null)
  const main = useRef<HTMLElement>(null)
  const place = `${screen}/${subject ?? ''}`
  const arrivedFrom = useRef(place)
  const definition = screens[screen]
  usePrintInLight()
  useShortcuts({
    quickOpen: () => may('roster.list') && setDialog('quick-open'),
    help: () => setDialog('help'),
    person: () => setDialog('person'),
  })

  const arrive = () => {
    if (arrivedFrom.current === place) return
    arrivedFrom.current = place
    const target = main.current?.querySelector<HTMLElement>('[data-arrival]') ?? main.current
    target?.focus({ preventScroll: true })
  }
  useEffect(() => void recallLanguage(), [])
  // Beside the questions that must be answered before it is drawn.
  useEffect(() => void fetchScreen(screen), [screen])
  useEffect(() => {
    const timer = setTimeout(() => void fetchScreens(), quietMs)
    return () => clearTimeout(timer)
  }, [])

  return (
    <div className="shell">
      <button type="button" className="skip" onClick={() => main.current?.focus()}>
        {phrase('Skip to the screen')}
      </button>
      <Bar
        screen={screen}
        place={place}
        state={state}
        onQuickOpen={() => setDialog('quick-open')}
        onHelp={() => setDialog('help')}
        person={
          standing.at === 'desk' && standing.person ? (
            <SignedInChip
              person={standing.person}
              opened={dialog === 'person'}
              onOpen={() => setDialog('person')}
              onClose={() => setDialog(null)}
            />
          ) : (
            <PersonChip
              opened={dialog === 'person'}
              onOpen={() => setDialog('person')}
              onClose={() => setDialog(null)}
            />
          )
        }
      />
      <main ref={main} id="main" className="shell-main" tabIndex={-1}>
        <FleetInUse>
          <LookStrip state={state.isClosed ? undefined : state.data} />
          <TogetherHere>
            <ScreenBoundary key={place}>
              <Suspense fallback={<output className="shell-wait">{phrase('Opening…')}</output>}>
                {definition === undefined ? (
                  <NoSuchScreen />
                ) : may(definition.asks) ? (
                  <DrawnScreen screen={definition.screen} subject={subject} />
                ) : (
                  <NotForYou label={definition.label} />
                )}
                <Arrival onArrive={arrive} />
              </Suspense>
            </ScreenBoundary>
          </TogetherHere>
        </FleetInUse>
      </main>
      <ChangedNote />
      <AwayStrip />
      <FollowStrip state={state.isClosed ? undefined : state.data} />
      <QuickOpen opened={dialog === 'quick-open'} onClose={() => setDialog(null)} />
      <AllowPlace />
      <Help opened={dialog === 'help'} screen={screen} onClose={() => setDialog(null)} />
    </div>
  )
}

function NoSuchScreen() {
  return (
    <div className="shell-wait">
      <ScreenTitle>{phrase('No such screen')}</ScreenTitle>
      <p>
        <Phrase
          text="The address names a screen that does not exist. <link>Open the Roster</link>"
          with={{ link: (words) => <a href={hrefOf('roster')}>{words}</a> }}
        />
      </p>
    </div>
  )
}

/** A page that the role of whoever has signed in has no part in. */
function NotForYou({ label }: { label: string }) {
  const standing = useStanding()
  return (
    <div className="shell-wait">
      <ScreenTitle>{label}</ScreenTitle>
      <p>
        {standing.at === 'desk' && standing.person
          ? phrase('You are signed in as {role}, who has no part in this page.', { role: aRole(standing.person.role) })
          : phrase('This page is not open here.')}{' '}
        <a href={hrefOf('')}>{phrase('Go where your work is')}</a>
      </p>
    </div>
  )
}
