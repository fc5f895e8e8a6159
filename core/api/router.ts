import { aboutHandlers } from '#core/api/handlers/about.ts'
import { attachmentHandlers } from '#core/api/handlers/attachment.ts'
import { benchHandlers } from '#core/api/handlers/bench.ts'
import { cabCardHandlers } from '#core/api/handlers/cab-card.ts'
import { copiesHandlers } from '#core/api/handlers/copies.ts'
import { deskHandlers } from '#core/api/handlers/desk.ts'
import { evidenceHandlers } from '#core/api/handlers/evidence.ts'
import { fileHandlers } from '#core/api/handlers/file.ts'
import { findingHandlers } from '#core/api/handlers/finding.ts'
import { fleetHandlers } from '#core/api/handlers/fleet.ts'
import { folderHandlers } from '#core/api/handlers/folder.ts'
import { foreignHandlers } from '#core/api/handlers/foreign.ts'
import { heavyHandlers } from '#core/api/handlers/heavy.ts'
import { houseRulesHandlers } from '#core/api/handlers/house-rules.ts'
import { logHandlers } from '#core/api/handlers/log.ts'
import { rosterHandlers } from '#core/api/handlers/roster.ts'
import { scalesHandlers } from '#core/api/handlers/scales.ts'
import { unitHandlers } from '#core/api/handlers/unit.ts'
import { weighInHandlers } from '#core/api/handlers/weigh-in.ts'
import { weighHandlers } from '#core/api/handlers/weigh.ts'
import { procedures } from '#core/api/procedures.ts'

/** Every procedure with its handler, in the shape of the contract. */
export const router = procedures.router({
  about: aboutHandlers,
  file: fileHandlers,
  copies: copiesHandlers,
  roster: rosterHandlers,
  unit: unitHandlers,
  finding: findingHandlers,
  fleet: fleetHandlers,
  log: logHandlers,
  desk: deskHandlers,
  scales: scalesHandlers,
  houseRules: houseRulesHandlers,
  folder: folderHandlers,
  foreign: foreignHandlers,
  weigh: weighHandlers,
  weighIn: weighInHandlers,
  evidence: evidenceHandlers,
  heavy: heavyHandlers,
  attachment: attachmentHandlers,
  cabCard: cabCardHandlers,
  bench: benchHandlers,
})
