import type { AllowedPlaces } from '#core/api/allowed-places.ts'
import type { FileCare } from '#core/api/file-care.ts'
import type { Log } from '#core/api/note-call.ts'
import type { Spoken } from '#core/api/speaking.ts'
import type { OpenFleet } from '#core/api/open-fleet.ts'
import type { HouseFacts } from '#core/contracts/house.ts'
import type { Caller, Door } from '#core/door/door.ts'

/** What a procedure may reach. The window that serves the procedures makes one and hands it to every call. */
export interface Context extends Spoken {
  /** Version of the app. */
  readonly version: string
  readonly fleet: OpenFleet
  readonly demo: DemoFile
  readonly care: FileCare
  readonly inboxes: Inboxes
  readonly places: AllowedPlaces
  /** Takes down, with its cause, an error that no person at the screen can put right. */
  readonly report: (error: unknown) => void
  readonly log: Log
  /** Of the machine that serves a house: how its desks reach it just now. */
  readonly house?: { facts(): HouseFacts } | undefined
  /** Of the machine that serves a house; undefined on one machine alone, where nobody signs in. */
  readonly door?: Door | undefined
  /** Of the own window of an app that can serve its file to other desks, and stop again; undefined elsewhere. */
  readonly sharing?: Sharing
  /**
   * The person behind a call that came over the fleet's network; whoever serves such a call has to name one. Without a
   * caller a call is the own window's of this machine, which may do everything.
   */
  readonly caller?: Caller
}

export interface Sharing {
  /** name: of this machine on the network; null: its own. Errors: TarelineError `port`, `shared`, those of the file. */
  start(how: { readonly name: string | null; readonly port: number }): Promise<void>
  stop(): Promise<void>
}

/** The database of the demo fleet. */
export interface DemoFile {
  readonly file: string
  /** The fleet folder that it is made from. */
  readonly from: string
  /** Makes the file where it is missing or older than the demo fleet's data. */
  prepare(): Promise<void>
}

/** Folders that hold files picked in the window until they have been imported. */
export interface Inboxes {
  /** The folder of an inbox; throws a TarelineError `no-inbox` where nothing was sent to it. */
  folderOf(inbox: string): Promise<string>
  remove(inbox: string): Promise<void>
}
