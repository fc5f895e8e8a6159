import type { Migration } from 'kysely/migration'
import * as people from './0001-people.ts'
import * as passkeys from './0002-passkeys.ts'

/** Every schema step of the file of people by name, oldest first; append only. */
export const peopleMigrations: Record<string, Migration> = {
  '0001-people': people,
  '0002-passkeys': passkeys,
}
