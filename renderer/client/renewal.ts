import type { Procedure, Subject } from '#core/contracts/contract.ts'

/** Every save stands in the log, and is counted in the list of copies. */
const everySave = ['log', 'copies', 'today'] as const
/** What is judged, weighed or planned from the record. */
export const judged = ['today', 'roster', 'unit', 'scales', 'weigh', 'weighIn', 'evidence', 'heavy', 'bench'] as const
/** What a foreign file names is looked for in the record; a rule is tried out on it. */
const record = [...everySave, ...judged, 'fleet', 'foreign', 'houseRules'] as const
const wholeFile = [...record, 'about', 'attachment', 'safekeeping'] as const

/**
 * Saves whose forms go on to the next at once, and show nothing of what was saved: who saved hears of it as soon as it
 * is in the record, while what else is on the screen is renewed.
 */
export const toldAtOnce: ReadonlySet<Procedure> = new Set<Procedure>(['weigh.save', 'weighIn.save'])

/** What has to be asked again once another window, or the program itself, has changed something, by what that was. */
export const renewedByNews: Readonly<Record<'record' | 'judged' | 'weighed', readonly Subject[]>> = {
  record: wholeFile,
  judged,
  weighed: ['weigh', 'weighIn', 'heavy', 'evidence', 'unit'],
}

/** What stays as it is, whatever is weighed. */
export const leftByWeighing: ReadonlySet<unknown> = new Set<Procedure>(['houseRules.list', 'houseRules.zone'])

/**
 * Which subjects have to be asked again after each procedure: by the kind of change that it makes, in one place.
 * None after a question, and after what only writes a file outside the record. The state of the file is asked after
 * each.
 */
export const renewedBy: Readonly<Record<Procedure, readonly Subject[]>> = {
  'about.facts': [],
  'about.supportBundle': [],

  'file.state': [],
  'file.open': wholeFile,
  'file.look': wholeFile,
  'file.openDemo': wholeFile,
  // What it tells is renewed as it is told.
  'file.follow': [],
  'file.holdBack': [],
  'file.followUp': [],
  'folder.bringIn': wholeFile,
  'folder.writeOut': [],

  'copies.list': [],
  'copies.check': [],
  'copies.keep': ['copies', 'safekeeping'],
  'copies.restore': wholeFile,
  'copies.startEmpty': wholeFile,

  'places.list': [],
  'places.allow': ['places'],
  'places.pick': ['places'],
  'places.takeBack': ['places'],

  'safekeeping.page': [],
  'safekeeping.checkNow': ['safekeeping', 'copies'],
  'safekeeping.rehearseNow': ['safekeeping'],
  'safekeeping.chooseSecond': ['safekeeping'],
  'safekeeping.copyToSecond': ['safekeeping'],

  'today.page': [],
  'today.pdf': [],
  'today.calendar': [],
  'today.findings': [],

  'roster.list': [],
  'roster.sensed': [],
  'roster.export': [],
  'unit.sheet': [],
  'finding.dismiss': [...everySave, ...judged, 'houseRules'],

  'log.list': [],
  'log.export': [],
  'log.last': [],
  'log.undo': wholeFile,
  'log.people': [],

  'fleet.basics': [],
  'fleet.sensors': [],
  'fleet.unit': [],
  'fleet.save': record,
  'fleet.mount': record,
  'fleet.mountMany': record,
  'fleet.addUnit': record,
  'fleet.bareCircuits': [],
  'fleet.firstSteps': [],
  'fleet.nextNumbers': [],
  'fleet.copyUnit': record,
  'fleet.retire': record,
  'fleet.baySheet': [],

  'desk.read': [],
  // What is typed and not saved is no part of the record, and its form holds it.
  'desk.leave': [],
  'desk.present': [],

  'scales.list': [],
  'scales.export': [],
  'houseRules.list': [],
  'houseRules.change': record,
  'houseRules.zone': [],
  'houseRules.changeZone': record,
  'houseRules.tryOut': [],

  'foreign.preview': [],
  'foreign.bringIn': record,
  'foreign.mappings': [],
  'foreign.saveMapping': [...everySave, 'foreign'],
  'foreign.removeMapping': [...everySave, 'foreign'],

  'weigh.combinations': [],
  'weigh.preview': [],
  'weigh.save': record,
  'cabCard.make': [],

  'weighIn.prepare': [],
  'weighIn.recorded': [],
  'weighIn.save': record,
  'weighIn.calibrate': record,
  'weighIn.voidCalibration': record,

  'evidence.tickets': [],
  'evidence.readings': [],
  'evidence.calibrations': [],
  'evidence.sheet': [],
  'evidence.correct': record,

  'heavy.list': [],
  'heavy.summary': [],
  'heavy.monday': [],
  'heavy.mondayPdf': [],
  'heavy.note': [...everySave, 'heavy', 'evidence'],
  'heavy.export': [],

  'attachment.list': [],
  'attachment.add': [...everySave, 'attachment'],
  'attachment.read': [],
  'attachment.takeOff': [...everySave, 'attachment'],

  'bench.plan': [],
  'bench.plannedVisits': [],
  'bench.unitWork': [],
  'bench.weighNext': [],
  // Cells and visits decide when a cell is due, which is found of its unit.
  'bench.markSwapped': record,
  'bench.addVisit': [...everySave, ...judged],
  'bench.addVisits': [...everySave, ...judged],
  'bench.removeVisit': [...everySave, ...judged],
  'bench.order': [],
  // Stock and prices are part of no plan and no judgement.
  'bench.setStock': [...everySave, 'bench'],
  'bench.setPrice': [...everySave, 'bench'],
  'bench.orderFile': [],
  'bench.lives': [],
  'bench.cost': [],
  'bench.workListPdf': [],
  'bench.calendar': [],
  'bench.csv': [],

  'house.facts': [],
  // Where the window stands is another then, too.
  'house.share': ['house', 'people'],
  'house.unshare': ['house', 'people'],

  'people.standing': [],
  'people.invitation': [],
  'people.list': [],
  'people.log': [],
  // Whoever comes in, or goes, sees everything anew.
  'people.signIn': [],
  'people.passkeyChallenge': [],
  'people.signInByPasskey': [],
  'people.passkeys': [],
  'people.passkeyToMake': [],
  'people.keepPasskey': ['people'],
  'people.removePasskey': ['people'],
  'people.signOut': [],
  'people.accept': [],
  'people.changePassword': ['people'],
  'people.invite': ['people'],
  'people.newLink': ['people'],
  'people.change': ['people'],
  'people.end': ['people'],
  'people.endSessions': ['people'],
}
