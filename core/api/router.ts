import { aboutHandlers, copiesHandlers, deskHandlers, fileHandlers } from '#core/api/handlers/about.ts'
import { benchHandlers } from '#core/api/handlers/bench.ts'
import { attachmentHandlers, evidenceHandlers } from '#core/api/handlers/evidence.ts'
import { fleetHandlers } from '#core/api/handlers/fleet.ts'
import { folderHandlers } from '#core/api/handlers/folder.ts'
import { foreignHandlers } from '#core/api/handlers/foreign.ts'
import { heavyHandlers } from '#core/api/handlers/heavy.ts'
import { houseHandlers } from '#core/api/handlers/house.ts'
import { houseRulesHandlers, scalesHandlers } from '#core/api/handlers/house-rules.ts'
import { findingHandlers, logHandlers } from '#core/api/handlers/log.ts'
import { peopleHandlers } from '#core/api/handlers/people.ts'
import { placesHandlers } from '#core/api/handlers/places.ts'
import { safekeepingHandlers } from '#core/api/handlers/safekeeping.ts'
import { todayHandlers } from '#core/api/handlers/today.ts'
import { cabCardHandlers, rosterHandlers, unitHandlers } from '#core/api/handlers/unit.ts'
import { weighInHandlers } from '#core/api/handlers/weigh-in.ts'
import { weighHandlers } from '#core/api/handlers/weigh.ts'
import { procedures } from '#core/api/procedures.ts'

/** Every procedure with its handler, in the shape of the contract. */
export const router = procedures.router({
  about: aboutHandlers,
  file: fileHandlers,
  copies: copiesHandlers,
  places: placesHandlers,
  safekeeping: safekeepingHandlers,
  today: todayHandlers,
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
  people: peopleHandlers,
  house: houseHandlers,
})
