import { Button } from '@mantine/core'
import { Component, type ComponentType, type ReactNode, lazy, useState } from 'react'
import type { Procedure } from '#core/contracts/contract.ts'
import type { Standing } from '#core/contracts/people.ts'
import { mayCall } from '#core/people/roles.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'

type Screen = ComponentType<{ subject: string | null }>

/** A screen that comes in a file of its own once it is opened, so that the first one is there sooner. */
interface LaterScreen {
  /** Once its file is here. */
  readonly here: Screen | undefined
  /** Waits for the file. */
  readonly Coming: Screen
  load(): Promise<unknown>
}

function later<Name extends string>(fetch: () => Promise<Readonly<Record<Name, Screen>>>, name: Name): LaterScreen {
  let here: Screen | undefined
  const load = async () => {
    here ??= (await fetch())[name]
    return { default: here }
  }
  return {
    get here() {
      return here
    },
    Coming: lazy<Screen>(load),
    load,
  }
}

/** Draws a screen: React shows that it waits for 300 ms at least, which a file that is here already need not. */
export function DrawnScreen({ screen: { here, Coming }, subject }: { screen: LaterScreen; subject: string | null }) {
  const [Drawn] = useState(() => here ?? Coming)
  return <Drawn subject={subject} />
}

const AboutScreen = later(() => import('#renderer/screens/about/about-screen.tsx'), 'AboutScreen')
const CopiesScreen = later(() => import('#renderer/screens/copies/copies-screen.tsx'), 'CopiesScreen')
const PeopleScreen = later(() => import('#renderer/screens/people/people-screen.tsx'), 'PeopleScreen')
const ReadingScreen = later(() => import('#renderer/screens/evidence/evidence-screen.tsx'), 'ReadingScreen')
const TicketScreen = later(() => import('#renderer/screens/evidence/evidence-screen.tsx'), 'TicketScreen')
const FleetScreen = later(() => import('#renderer/screens/fleet/fleet-screen.tsx'), 'FleetScreen')
const RecordScreen = later(() => import('#renderer/screens/fleet/record-screen.tsx'), 'RecordScreen')
const FolderScreen = later(() => import('#renderer/screens/folder/folder-screen.tsx'), 'FolderScreen')
const ForeignScreen = later(() => import('#renderer/screens/foreign/foreign-screen.tsx'), 'ForeignScreen')
const HeavyScreen = later(() => import('#renderer/screens/heavy/heavy-screen.tsx'), 'HeavyScreen')
const HouseRulesScreen = later(() => import('#renderer/screens/house-rules/house-rules-screen.tsx'), 'HouseRulesScreen')
const LogScreen = later(() => import('#renderer/screens/log/log-screen.tsx'), 'LogScreen')
const MondayScreen = later(() => import('#renderer/screens/monday/monday-screen.tsx'), 'MondayScreen')
const RosterScreen = later(() => import('#renderer/screens/roster/roster-screen.tsx'), 'RosterScreen')
const SafekeepingScreen = later(
  () => import('#renderer/screens/safekeeping/safekeeping-screen.tsx'),
  'SafekeepingScreen',
)
const ScaleHouseScreen = later(() => import('#renderer/screens/scale-house/scale-house-screen.tsx'), 'ScaleHouseScreen')
const ShareScreen = later(() => import('#renderer/screens/share/share-screen.tsx'), 'ShareScreen')
const ShopScreen = later(() => import('#renderer/screens/shop/shop-screen.tsx'), 'ShopScreen')
const TodayScreen = later(() => import('#renderer/screens/today/today-screen.tsx'), 'TodayScreen')
const UnitScreen = later(() => import('#renderer/screens/unit/unit-screen.tsx'), 'UnitScreen')
const RecordedScreen = later(() => import('#renderer/screens/weigh-in/recorded-screen.tsx'), 'RecordedScreen')
const WeighInScreen = later(() => import('#renderer/screens/weigh-in/weigh-in-screen.tsx'), 'WeighInScreen')
const OneTicketScreen = later(() => import('#renderer/screens/weigh-in/one-ticket-screen.tsx'), 'OneTicketScreen')
const CabCardScreen = later(() => import('#renderer/screens/cab-card/cab-card-screen.tsx'), 'CabCardScreen')
const UnsentScreen = later(() => import('#renderer/screens/unsent/unsent-screen.tsx'), 'UnsentScreen')
const WeighScreen = later(() => import('#renderer/screens/weigh/weigh-screen.tsx'), 'WeighScreen')

/** Keeps a fault in one screen from taking the window down. */
export class ScreenBoundary extends Component<{ children: ReactNode }, { error: unknown }> {
  override state: { error: unknown } = { error: undefined }

  static getDerivedStateFromError(error: unknown) {
    return { error }
  }

  override render() {
    if (this.state.error === undefined) return this.props.children
    return (
      <div className="shell-wait">
        <ProblemNotice title={phrase('This screen could not be drawn')} error={this.state.error}>
          <Button variant="filled" onClick={() => this.setState({ error: undefined })}>
            {phrase('Draw it again')}
          </Button>
        </ProblemNotice>
      </div>
    )
  }
}

export interface ScreenDefinition {
  readonly label: string
  /** Pressed after `g`; a screen without a letter is reached through another. */
  readonly letter: string | null
  readonly screen: LaterScreen
  /** The procedure that it cannot do without: whose role may not call it has no part in the screen. */
  readonly asks: Procedure
}

/** Every screen by its name in the address: a new one is a new line here, and a place in `sections`. */
export const screens: Readonly<Record<string, ScreenDefinition>> = {
  today: { label: phrase('Today'), letter: 't', screen: TodayScreen, asks: 'today.page' },
  roster: { label: phrase('Roster'), letter: 'r', screen: RosterScreen, asks: 'roster.list' },
  unit: { label: phrase('Unit sheet'), letter: null, screen: UnitScreen, asks: 'unit.sheet' },
  weigh: { label: phrase('Weigh now'), letter: 'w', screen: WeighScreen, asks: 'weigh.preview' },
  'weigh-in': { label: phrase('Weigh-in'), letter: 'i', screen: WeighInScreen, asks: 'weighIn.save' },
  calibrate: {
    label: phrase('Calibrate from the record'),
    letter: null,
    screen: RecordedScreen,
    asks: 'weighIn.calibrate',
  },
  'one-ticket': { label: phrase('One ticket'), letter: null, screen: OneTicketScreen, asks: 'weighIn.save' },
  'cab-card': { label: phrase('Cab card'), letter: null, screen: CabCardScreen, asks: 'cabCard.make' },
  unsent: { label: phrase('Not yet sent'), letter: null, screen: UnsentScreen, asks: 'weigh.preview' },
  'scale-house': {
    label: phrase('Scale House'),
    letter: 's',
    screen: ScaleHouseScreen,
    asks: 'evidence.calibrations',
  },
  ticket: { label: phrase('Ticket'), letter: null, screen: TicketScreen, asks: 'evidence.sheet' },
  reading: { label: phrase('Reading'), letter: null, screen: ReadingScreen, asks: 'evidence.sheet' },
  heavy: { label: phrase('Heavy Log'), letter: 'y', screen: HeavyScreen, asks: 'heavy.list' },
  monday: { label: phrase('Monday’s page'), letter: 'm', screen: MondayScreen, asks: 'heavy.monday' },
  shop: { label: phrase('Shop Bench'), letter: 'b', screen: ShopScreen, asks: 'bench.plan' },
  'house-rules': { label: phrase('House Rules'), letter: 'h', screen: HouseRulesScreen, asks: 'houseRules.tryOut' },
  fleet: { label: phrase('Fleet'), letter: 'e', screen: FleetScreen, asks: 'fleet.basics' },
  record: { label: phrase('Record'), letter: null, screen: RecordScreen, asks: 'fleet.unit' },
  log: { label: phrase('Change log'), letter: 'l', screen: LogScreen, asks: 'log.list' },
  folder: { label: phrase('Fleet folder'), letter: 'f', screen: FolderScreen, asks: 'folder.bringIn' },
  foreign: { label: phrase('Import a CSV file'), letter: null, screen: ForeignScreen, asks: 'foreign.preview' },
  about: { label: phrase('About'), letter: null, screen: AboutScreen, asks: 'about.facts' },
  people: { label: phrase('People'), letter: null, screen: PeopleScreen, asks: 'people.list' },
  copies: { label: phrase('Copies'), letter: null, screen: CopiesScreen, asks: 'copies.list' },
  share: { label: phrase('Share this fleet'), letter: null, screen: ShareScreen, asks: 'house.facts' },
  safekeeping: { label: phrase('Safekeeping'), letter: null, screen: SafekeepingScreen, asks: 'safekeeping.page' },
}

/** Not every browser tells when it is idle. */
const whenIdle = (): Promise<void> =>
  new Promise((resolve) => {
    if ('requestIdleCallback' in window) requestIdleCallback(() => resolve())
    else setTimeout(resolve)
  })

/** Has a screen come before it is drawn; where that fails, it is told when the screen is to be drawn. */
export const fetchScreen = async (name: string): Promise<void> => {
  await screens[name]?.screen.load().catch(() => undefined)
}

/** Has all screens come while nothing else is to be done: each is at hand then, whatever becomes of the app's files. */
export async function fetchScreens(): Promise<void> {
  for (const name of Object.keys(screens)) {
    await whenIdle()
    await fetchScreen(name)
  }
}

export interface Section {
  readonly label: string
  /** Its screens in the bar, the first of which opens with the section; `also` are reached through those. */
  readonly shown: readonly string[]
  readonly also: readonly string[]
}

/** The screens by the question that a person comes with: the entries of the bar, six at most. */
const sections: readonly Section[] = [
  { label: phrase('Today'), shown: ['today'], also: [] },
  { label: phrase('Roster'), shown: ['roster', 'fleet'], also: ['unit', 'record'] },
  {
    label: phrase('Scale House'),
    shown: ['scale-house', 'weigh-in', 'weigh', 'one-ticket', 'cab-card'],
    also: ['calibrate', 'ticket', 'reading', 'unsent'],
  },
  { label: phrase('Shop Bench'), shown: ['shop'], also: [] },
  { label: phrase('Heavy Log'), shown: ['heavy', 'monday'], also: [] },
  {
    label: phrase('Records'),
    shown: ['folder', 'foreign', 'copies', 'safekeeping', 'log', 'house-rules', 'share', 'people'],
    also: ['about'],
  },
]

/** The section that a screen stands in; undefined for an address that names no screen. */
export const sectionOf = (screen: string): Section | undefined =>
  sections.find(({ shown, also }) => shown.includes(screen) || also.includes(screen))

/** Whether a screen has a part to play where a window stands: people come in to a house only, and as what they are. */
function isOpenTo(name: string, standing: Standing): boolean {
  const screen = screens[name]
  if (!screen || (name === 'people' && standing.at === 'alone')) return false
  return standing.at !== 'desk' || (standing.person !== null && mayCall(standing.person.role, screen.asks))
}

/** The sections with what of them is open to whoever stands there. */
export const sectionsFor = (standing: Standing): Section[] =>
  sections
    .map((section) => ({ ...section, shown: section.shown.filter((name) => isOpenTo(name, standing)) }))
    .filter(({ shown }) => shown.length > 0)

/** Where a person without a page of the day begins, the first that is open. */
const beginnings = ['weigh', 'weigh-in'] as const

/** The screen that is drawn for an address: where the page of the day is not open, another to begin with. */
export const openTo = (asked: string, standing: Standing): string =>
  asked === 'today' && !isOpenTo(asked, standing)
    ? (beginnings.find((name) => isOpenTo(name, standing)) ?? asked)
    : asked
