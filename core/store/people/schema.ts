import type { Generated } from 'kysely'
import type { DoorEventKind } from '#core/words/door-events.ts'
import type { Role } from '#core/words/roles.ts'

/** The tables of the file of people as Kysely sees them: migrations/people. */
export interface PeopleSchema {
  person: {
    id: Generated<number>
    name: string
    name_key: string
    role: Role
    /** Numbers of units as JSON. */
    units: string
    /** As `core/door/password.ts` writes it; null until it is chosen. */
    password: string | null
    made_at: string
    made_by: string
    ended_at: string | null
  }
  session: {
    id: Generated<number>
    person_id: number
    /** SHA-256 of what the cookie carries, in hexadecimal digits. */
    token_hash: string
    begun_at: string
    ends_at: string
    seen_at: string
    address: string
    browser: string
  }
  invitation: {
    person_id: number
    token_hash: string
    made_at: string
    ends_at: string
  }
  passkey: {
    id: Generated<number>
    person_id: number
    host: string
    credential: string
    public_key: string
    counter: number
    /** As JSON. */
    transports: string
    made_at: string
    used_at: string | null
  }
  door_log: {
    id: Generated<number>
    at: string
    kind: DoorEventKind
    name: string | null
    by: string | null
    address: string
    detail: string | null
  }
  /** house: keeps cookies of two houses on one machine apart. address: where desks find it. */
  setting: { name: 'house' | 'address'; value: string }
}
