import { aboutContract } from '#core/contracts/about.ts'
import { attachmentContract } from '#core/contracts/attachment.ts'
import { benchContract } from '#core/contracts/bench.ts'
import { copiesContract } from '#core/contracts/copies.ts'
import { evidenceContract } from '#core/contracts/evidence.ts'
import { fileContract, folderContract } from '#core/contracts/file.ts'
import { fleetContract } from '#core/contracts/fleet.ts'
import { foreignContract } from '#core/contracts/foreign.ts'
import { heavyContract } from '#core/contracts/heavy.ts'
import { deskContract, logContract } from '#core/contracts/log.ts'
import { peopleContract } from '#core/contracts/people.ts'
import { houseContract } from '#core/contracts/house.ts'
import { placesContract } from '#core/contracts/places.ts'
import { safekeepingContract } from '#core/contracts/safekeeping.ts'
import { houseRulesContract, scalesContract } from '#core/contracts/scales.ts'
import { todayContract } from '#core/contracts/today.ts'
import { findingContract, rosterContract, unitContract } from '#core/contracts/unit.ts'
import { cabCardContract, weighContract } from '#core/contracts/weigh.ts'
import { weighInContract } from '#core/contracts/weigh-in.ts'

/** The typed procedures: everything a screen can ask, pure data in and out, the same over both windows. */
export const contract = {
  about: aboutContract,
  file: fileContract,
  copies: copiesContract,
  places: placesContract,
  safekeeping: safekeepingContract,
  today: todayContract,
  roster: rosterContract,
  unit: unitContract,
  log: logContract,
  fleet: fleetContract,
  desk: deskContract,
  finding: findingContract,
  scales: scalesContract,
  houseRules: houseRulesContract,
  folder: folderContract,
  foreign: foreignContract,
  weigh: weighContract,
  weighIn: weighInContract,
  evidence: evidenceContract,
  heavy: heavyContract,
  attachment: attachmentContract,
  cabCard: cabCardContract,
  bench: benchContract,
  people: peopleContract,
  house: houseContract,
}

type Contract = typeof contract
export type Subject = keyof Contract
/** A procedure by its subject and name, such as `fleet.save`. */
export type Procedure = { [S in Subject]: `${S}.${Extract<keyof Contract[S], string>}` }[Subject]
