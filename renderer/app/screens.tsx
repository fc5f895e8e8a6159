import { Button } from '@mantine/core'
import { Component, type ComponentType, type ReactNode } from 'react'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { AboutScreen } from '#renderer/screens/about/about-screen.tsx'
import { CopiesScreen } from '#renderer/screens/copies/copies-screen.tsx'
import { ReadingScreen, TicketScreen } from '#renderer/screens/evidence/evidence-screen.tsx'
import { FleetScreen } from '#renderer/screens/fleet/fleet-screen.tsx'
import { RecordScreen } from '#renderer/screens/fleet/record-screen.tsx'
import { FolderScreen } from '#renderer/screens/folder/folder-screen.tsx'
import { ForeignScreen } from '#renderer/screens/foreign/foreign-screen.tsx'
import { HeavyScreen } from '#renderer/screens/heavy/heavy-screen.tsx'
import { HouseRulesScreen } from '#renderer/screens/house-rules/house-rules-screen.tsx'
import { LogScreen } from '#renderer/screens/log/log-screen.tsx'
import { MondayScreen } from '#renderer/screens/monday/monday-screen.tsx'
import { RosterScreen } from '#renderer/screens/roster/roster-screen.tsx'
import { ScaleHouseScreen } from '#renderer/screens/scale-house/scale-house-screen.tsx'
import { ShopScreen } from '#renderer/screens/shop/shop-screen.tsx'
import { TodayScreen } from '#renderer/screens/today/today-screen.tsx'
import { UnitScreen } from '#renderer/screens/unit/unit-screen.tsx'
import { RecordedScreen } from '#renderer/screens/weigh-in/recorded-screen.tsx'
import { WeighInScreen } from '#renderer/screens/weigh-in/weigh-in-screen.tsx'
import { WeighScreen } from '#renderer/screens/weigh/weigh-screen.tsx'

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
        <ProblemNotice title="This screen could not be drawn" error={this.state.error}>
          <Button variant="filled" onClick={() => this.setState({ error: undefined })}>
            Draw it again
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
  readonly component: ComponentType<{ subject: string | null }>
}

/** Every screen by its name in the address: a new one is a new line here, and a place in `sections`. */
export const screens: Readonly<Record<string, ScreenDefinition>> = {
  today: { label: 'Today', letter: 't', component: TodayScreen },
  roster: { label: 'Roster', letter: 'r', component: RosterScreen },
  unit: { label: 'Unit sheet', letter: null, component: UnitScreen },
  weigh: { label: 'Weigh now', letter: 'w', component: WeighScreen },
  'weigh-in': { label: 'Weigh-in', letter: 'i', component: WeighInScreen },
  calibrate: { label: 'Calibrate from the record', letter: null, component: RecordedScreen },
  'scale-house': { label: 'Scale House', letter: 's', component: ScaleHouseScreen },
  ticket: { label: 'Ticket', letter: null, component: TicketScreen },
  reading: { label: 'Reading', letter: null, component: ReadingScreen },
  heavy: { label: 'Heavy Log', letter: 'y', component: HeavyScreen },
  monday: { label: 'Monday’s page', letter: 'm', component: MondayScreen },
  shop: { label: 'Shop Bench', letter: 'b', component: ShopScreen },
  'house-rules': { label: 'House Rules', letter: 'h', component: HouseRulesScreen },
  fleet: { label: 'Fleet', letter: 'e', component: FleetScreen },
  record: { label: 'Record', letter: null, component: RecordScreen },
  log: { label: 'Change log', letter: 'l', component: LogScreen },
  folder: { label: 'Fleet folder', letter: 'f', component: FolderScreen },
  foreign: { label: 'Bring in a CSV file', letter: null, component: ForeignScreen },
  about: { label: 'About', letter: null, component: AboutScreen },
  copies: { label: 'Copies', letter: null, component: CopiesScreen },
}

export interface Section {
  readonly label: string
  /** Its screens in the bar, the first of which opens with the section; `also` are reached through those. */
  readonly shown: readonly string[]
  readonly also: readonly string[]
}

/** The screens by the question that a person comes with: the entries of the bar, six at most. */
export const sections: readonly Section[] = [
  { label: 'Today', shown: ['today'], also: [] },
  { label: 'Roster', shown: ['roster', 'fleet'], also: ['unit', 'record'] },
  {
    label: 'Scale House',
    shown: ['scale-house', 'weigh-in', 'weigh'],
    also: ['calibrate', 'ticket', 'reading'],
  },
  { label: 'Shop Bench', shown: ['shop'], also: [] },
  { label: 'Heavy Log', shown: ['heavy', 'monday'], also: [] },
  { label: 'Records', shown: ['folder', 'foreign', 'copies', 'log', 'house-rules'], also: ['about'] },
]

/** The section that a screen stands in; undefined for an address that names no screen. */
export const sectionOf = (screen: string): Section | undefined =>
  sections.find(({ shown, also }) => shown.includes(screen) || also.includes(screen))
