import { join } from 'node:path'
import { type AllowedPlaces, allowedPlaces } from '#core/api/allowed-places.ts'

/** What windows may use in a test: one folder, which also keeps what a person allows beside it. */
export const placesIn = (folder: string): AllowedPlaces =>
  allowedPlaces({ keptIn: join(folder, 'allowed-folders.json'), always: () => [folder] })
