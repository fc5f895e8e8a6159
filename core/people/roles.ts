import { phrase } from '#core/words/phrase.ts'
import type { Procedure } from '#core/contracts/contract.ts'
import type { TypedSubject } from '#core/words/record-fields.ts'
import { type Role, aRole, roles } from '#core/words/roles.ts'

/** Who may call a procedure from another desk: these roles; whoever comes to the door; nobody but the house machine. */
type Admitted = readonly Role[] | 'whoever comes' | 'house machine'

const all = roles
const onlyManager: readonly Role[] = ['manager']
/** Whoever looks at the whole record; a driver sees the units given and no more. */
const lookers: readonly Role[] = ['shop', 'counter', 'manager', 'owner']
const weighers: readonly Role[] = ['driver', 'counter', 'manager']
const counter: readonly Role[] = ['counter', 'manager']
const shop: readonly Role[] = ['shop', 'manager']

/** The one table of who may do what in a house: every procedure of the contract stands in it. */
export const admitted: Readonly<Record<Procedure, Admitted>> = {
  'about.facts': lookers,
  // It reads the log of the program, and the whole fleet file where asked to.
  'about.supportBundle': 'house machine',

  'file.state': all,
  'file.open': 'house machine',
  'file.look': 'house machine',
  'file.openDemo': 'house machine',
  // It tells rows of the Roster.
  'file.follow': lookers,
  'file.holdBack': onlyManager,
  'file.followUp': onlyManager,
  'folder.bringIn': onlyManager,
  'folder.writeOut': 'house machine',

  'copies.list': ['manager', 'owner'],
  'copies.check': onlyManager,
  'copies.keep': onlyManager,
  'copies.restore': 'house machine',
  'copies.startEmpty': 'house machine',

  'safekeeping.page': ['manager', 'owner'],
  'safekeeping.checkNow': onlyManager,
  'safekeeping.rehearseNow': onlyManager,
  // A folder of its own disk.
  'safekeeping.chooseSecond': 'house machine',
  'safekeeping.copyToSecond': onlyManager,

  // Folders of its own disk.
  'places.list': 'house machine',
  'places.allow': 'house machine',
  'places.pick': 'house machine',
  'places.takeBack': 'house machine',

  'today.page': lookers,
  'today.pdf': lookers,
  'today.calendar': lookers,
  'today.findings': lookers,

  'roster.list': lookers,
  'roster.sensed': lookers,
  'roster.export': lookers,
  'unit.sheet': lookers,
  'finding.dismiss': onlyManager,

  'log.list': lookers,
  'log.export': lookers,
  // What may be undone: see `undoesAnybodys`.
  'log.last': all,
  'log.undo': all,
  'log.people': lookers,

  'fleet.basics': lookers,
  'fleet.sensors': lookers,
  'fleet.unit': lookers,
  // Of which records: see `savedSubjects`.
  'fleet.save': shop,
  'fleet.mount': shop,
  'fleet.mountMany': shop,
  'fleet.addUnit': onlyManager,
  'fleet.bareCircuits': lookers,
  'fleet.firstSteps': lookers,
  'fleet.nextNumbers': lookers,
  'fleet.copyUnit': onlyManager,
  'fleet.retire': onlyManager,
  'fleet.baySheet': lookers,

  // Each person has a desk of their own.
  'desk.read': all,
  'desk.leave': all,
  // What others have open, of units that no driver is given, is no driver's to ask or to say.
  'desk.present': lookers,

  'scales.list': all,
  'scales.export': lookers,
  'houseRules.list': all,
  'houseRules.change': onlyManager,
  'houseRules.zone': all,
  'houseRules.changeZone': onlyManager,
  'houseRules.tryOut': lookers,

  'foreign.preview': counter,
  'foreign.bringIn': counter,
  'foreign.mappings': lookers,
  'foreign.saveMapping': counter,
  'foreign.removeMapping': counter,

  'weigh.combinations': all,
  'weigh.preview': all,
  'weigh.save': weighers,
  'cabCard.make': all,

  'weighIn.prepare': all,
  'weighIn.recorded': lookers,
  'weighIn.save': weighers,
  'weighIn.calibrate': counter,
  'weighIn.voidCalibration': counter,

  // A driver asks by a unit, as for the ticket that is to be photographed.
  'evidence.tickets': all,
  'evidence.readings': lookers,
  'evidence.calibrations': lookers,
  'evidence.sheet': all,
  'evidence.correct': counter,

  'heavy.list': lookers,
  'heavy.summary': lookers,
  'heavy.monday': lookers,
  'heavy.mondayPdf': lookers,
  'heavy.note': ['counter', 'manager', 'owner'],
  'heavy.export': lookers,

  'attachment.list': all,
  'attachment.add': weighers,
  'attachment.read': all,
  'attachment.takeOff': counter,

  'bench.plan': lookers,
  'bench.plannedVisits': lookers,
  'bench.unitWork': lookers,
  'bench.weighNext': lookers,
  'bench.markSwapped': shop,
  'bench.addVisit': shop,
  'bench.addVisits': shop,
  'bench.removeVisit': shop,
  'bench.order': lookers,
  'bench.setStock': shop,
  'bench.setPrice': shop,
  'bench.orderFile': lookers,
  'bench.lives': lookers,
  'bench.cost': lookers,
  'bench.workListPdf': lookers,
  'bench.calendar': lookers,
  'bench.csv': lookers,

  'house.facts': lookers,
  'house.share': 'house machine',
  'house.unshare': 'house machine',

  'people.standing': 'whoever comes',
  'people.signIn': 'whoever comes',
  'people.invitation': 'whoever comes',
  'people.accept': 'whoever comes',
  'people.passkeyChallenge': 'whoever comes',
  'people.signInByPasskey': 'whoever comes',
  'people.signOut': all,
  'people.changePassword': all,
  'people.passkeys': all,
  'people.passkeyToMake': all,
  'people.keepPasskey': all,
  'people.removePasskey': all,
  'people.list': onlyManager,
  'people.invite': onlyManager,
  'people.newLink': onlyManager,
  'people.change': onlyManager,
  'people.end': onlyManager,
  'people.endSessions': onlyManager,
  'people.log': onlyManager,
}

export const isProcedure = (name: string): name is Procedure => Object.hasOwn(admitted, name)

/** Whether somebody who has not signed in may call it. */
export const isOpenToAll = (procedure: Procedure): boolean => admitted[procedure] === 'whoever comes'

/** Whether a role may call a procedure; what may be asked of it is told by `inputRefusal`. */
export function mayCall(role: Role, procedure: Procedure): boolean {
  const who = admitted[procedure]
  return who === 'whoever comes' || (who !== 'house machine' && who.includes(role))
}

/** Who calls a procedure where a role may not, as a sentence; undefined where it may. */
export function whoElseMay(role: Role, procedure: Procedure): string | undefined {
  if (mayCall(role, procedure)) return undefined
  const who = admitted[procedure]
  if (who === 'house machine' || who === 'whoever comes') return phrase('This is done on the house machine itself.')
  const others = who.map(aRole)
  const last = others.at(-1) ?? ''
  const named =
    others.length > 1 ? phrase('{others} or {last}', { others: others.slice(0, -1).join(', '), last }) : last
  return phrase('You are signed in as {role}; this is done by {named}.', { role: aRole(role), named })
}

/** Why a call of a role is refused, as a sentence; undefined where it is not. */
export function callRefusal(role: Role, procedure: Procedure): string | undefined {
  const others = whoElseMay(role, procedure)
  return others === undefined ? undefined : phrase('{others} Nothing was changed.', { others })
}

/** The kinds of record that the shop saves by hand; a manager saves every kind. */
const shopSaves: readonly TypedSubject[] = ['sensor', 'mount', 'event']

/** Whether a role saves records of a kind by hand. */
export const maySave = (role: Role, subject: unknown): boolean =>
  mayCall(role, 'fleet.save') && (role !== 'shop' || shopSaves.some((each) => each === subject))

const partOf = (value: unknown, name: string): unknown =>
  typeof value === 'object' && value !== null ? Reflect.get(value, name) : undefined

/** Whether an input names a file or folder of the house machine's disk. */
export const namesDiskPath = (input: unknown): boolean =>
  partOf(input, 'path') !== undefined ||
  partOf(input, 'folder') !== undefined ||
  partOf(input, 'startAt') !== undefined ||
  partOf(partOf(input, 'source'), 'path') !== undefined

/**
 * Why what is asked of a procedure is not open to somebody who may call it, as a sentence; undefined where it is. A
 * driver's units are looked at elsewhere, since the record has to be asked: `unitsAsked`.
 */
export function inputRefusal(role: Role, procedure: Procedure, input: unknown): string | undefined {
  if (namesDiskPath(input))
    return phrase(
      'A file or folder of the house machine’s disk is named on that machine only. Send the file from here instead.',
    )
  if (procedure === 'fleet.save' && role === 'shop' && !maySave(role, partOf(input, 'subject')))
    return phrase(
      'The shop saves sensors, mounts and work; other records of the fleet are saved by a manager. Nothing was saved.',
    )
  const calibrate = partOf(input, 'calibrate')
  if (procedure === 'weighIn.save' && role === 'driver' && Array.isArray(calibrate) && calibrate.length > 0)
    return phrase('A driver saves tickets and readings; a calibration is made at the counter. Nothing was saved.')
  return undefined
}

/** Whether a role takes back what anybody saved; the others take back the last of their own. */
export const undoesAnybodys = (role: Role): boolean => role === 'manager'
