import type { Migration } from 'kysely/migration'
import * as ledger from './0001-ledger.ts'
import * as dismissals from './0002-dismissals.ts'
import * as weighings from './0003-weighings.ts'
import * as bench from './0004-bench.ts'
import * as changes from './0005-changes.ts'
import * as undo from './0006-undo.ts'
import * as mappings from './0007-mappings.ts'
import * as bookkeeping from './0008-bookkeeping.ts'
import * as zone from './0009-zone.ts'
import * as voidUndone from './0010-void-undone.ts'
import * as readingUnits from './0011-reading-units.ts'
import * as saidFindings from './0012-said-findings.ts'
import * as scalesAbsolutely from './0013-scales-absolutely.ts'
import * as bestWeights from './0014-best-weights.ts'
import * as saidVerdicts from './0015-said-verdicts.ts'
import * as weighNext from './0016-weigh-next.ts'
import * as ticketTogether from './0017-ticket-together.ts'
import * as yardDays from './0018-yard-days.ts'
import * as dayAndDrivers from './0019-day-and-drivers.ts'
import * as renewals from './0020-renewals.ts'
import * as seals from './0021-seals.ts'
import * as sentSaves from './0022-sent-saves.ts'
import * as rosterLines from './0023-roster-lines.ts'
import * as listWalks from './0024-list-walks.ts'
import * as loadingLanes from './0025-loading-lanes.ts'
import * as weighedFor from './0026-weighed-for.ts'
import * as standingsInShort from './0027-standings-in-short.ts'

/** Every schema step by name, oldest first; append only. A written list survives bundling, a folder scan does not. */
export const migrations: Record<string, Migration> = {
  '0001-ledger': ledger,
  '0002-dismissals': dismissals,
  '0003-weighings': weighings,
  '0004-bench': bench,
  '0005-changes': changes,
  '0006-undo': undo,
  '0007-mappings': mappings,
  '0008-bookkeeping': bookkeeping,
  '0009-zone': zone,
  '0010-void-undone': voidUndone,
  '0011-reading-units': readingUnits,
  '0012-said-findings': saidFindings,
  '0013-scales-absolutely': scalesAbsolutely,
  '0014-best-weights': bestWeights,
  '0015-said-verdicts': saidVerdicts,
  '0016-weigh-next': weighNext,
  '0017-ticket-together': ticketTogether,
  '0018-yard-days': yardDays,
  '0019-day-and-drivers': dayAndDrivers,
  '0020-renewals': renewals,
  '0021-seals': seals,
  '0022-sent-saves': sentSaves,
  '0023-roster-lines': rosterLines,
  '0024-list-walks': listWalks,
  '0025-loading-lanes': loadingLanes,
  '0026-weighed-for': weighedFor,
  '0027-standings-in-short': standingsInShort,
}
