/** What a person of the fleet may do from another desk; the house machine itself knows no roles. */
export const roles = ['driver', 'shop', 'counter', 'manager', 'owner'] as const
export type Role = (typeof roles)[number]
export const isRole = (text: string): text is Role => roles.some((role) => role === text)

/** What each role is for, as it is told to whoever gives it. */
export const roleWords: Readonly<Record<Role, string>> = {
  driver: 'weighs the units given, adds readings and photographs tickets',
  shop: 'works on the bench: swaps, mounts, visits and work on units',
  counter: 'types tickets, readings and weigh-ins, and corrects them',
  manager: 'changes everything in the record, the House Rules and who may come in',
  owner: 'looks at everything and writes notes',
}

const called: Readonly<Record<Role, string>> = {
  driver: 'a driver',
  shop: 'the shop',
  counter: 'the counter',
  manager: 'a manager',
  owner: 'the owner',
}

/** A role as it stands in a sentence. */
export const aRole = (role: Role): string => called[role]
