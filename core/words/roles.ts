import { phrase } from '#core/words/phrase.ts'

/** What a person of the fleet may do from another desk; the house machine itself knows no roles. */
export const roles = ['driver', 'shop', 'counter', 'manager', 'owner'] as const
export type Role = (typeof roles)[number]
export const isRole = (text: string): text is Role => roles.some((role) => role === text)

/** What each role is for, as it is told to whoever gives it. */
export const roleWords: Readonly<Record<Role, string>> = {
  get driver() {
    return phrase('weighs the units given, adds readings and photographs tickets')
  },
  get shop() {
    return phrase('works on the bench: swaps, mounts, visits and work on units')
  },
  get counter() {
    return phrase('types tickets, readings and weigh-ins, and corrects them')
  },
  get manager() {
    return phrase('changes everything in the record, the House Rules and who may come in')
  },
  get owner() {
    return phrase('looks at everything and writes notes')
  },
}

const called: Readonly<Record<Role, string>> = {
  get driver() {
    return phrase('a driver')
  },
  get shop() {
    return phrase('the shop')
  },
  get counter() {
    return phrase('the counter')
  },
  get manager() {
    return phrase('a manager')
  },
  get owner() {
    return phrase('the owner')
  },
}

/** A role as it stands in a sentence. */
export const aRole = (role: Role): string => called[role]
