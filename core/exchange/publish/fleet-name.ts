import { basename, extname } from 'node:path'
import type { PublishedFleet } from '#core/exchange/publish/published-table.ts'

/** What a fleet is called where it is published: as asked, else as before, else as its file. */
export const fleetNameOf = ({ name, file }: PublishedFleet, before: string | undefined): string =>
  name ?? before ?? basename(file, extname(file))
