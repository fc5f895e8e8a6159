import { phraseLater, spoken } from '#core/words/phrase.ts'

/** What a person of the fleet may do from another desk; the house machine itself knows no roles. */
export const roles = ['driver', 'shop', 'counter', 'manager', 'owner'] as const
export type Role = (typeof roles)[number]
export const isRole = (text: string): text is Role => roles.some((role) => role === text)

/** What each role is for, as it is told to whoever gives it. */
export const roleWords: Readonly<Record<Role, string>> = spoken({
  driver: phraseLater('weighs the units given, adds readings and photographs tickets'),
  shop: phraseLater('works on the bench: swaps, mounts, visits and work on units'),
  counter: phraseLater('types tickets, readings and weigh-ins, and corrects them'),
  manager: phraseLater('changes everything in the record, the House Rules and who may come in'),
  owner: phraseLater('looks at everything and writes notes'),
})

const called: Readonly<Record<Role, string>> = spoken({
  driver: phraseLater('a driver'),
  shop: phraseLater('the shop'),
  counter: phraseLater('the counter'),
  manager: phraseLater('a manager'),
  owner: phraseLater('the owner'),
})

/** A role as it stands in a sentence. */
export const aRole = (role: Role): string => called[role]
