import { phrase } from '#core/words/phrase.ts'

/**
 * What each screen is for and what its numbers mean, by its name in the address: a few lines each, read at the counter.
 */
export const screenHelp: Readonly<Record<string, readonly string[]>> = {
  today: [
    phrase(
      'What a fleet manager wants to know in the morning, worst first: what cannot be trusted, what comes due in 30 days, what changed since yesterday, and what is worth a trip to the scale.',
    ),
    phrase(
      'Each finding stands here once, with the unit it is about; its name leads to the sheet that shows the evidence.',
    ),
    phrase(
      'A due date of a line is the day from which its weights are no longer good to what is tolerated. “Now” means that they are not today.',
    ),
    phrase(
      '“± 270 becomes ± 200” says how well the group’s weight at its limit is known before and after one more weighing, 95 %.',
    ),
    phrase('Choose a yard to see its part alone; the page prints, and goes out as a PDF or as a calendar.'),
  ],
  roster: [
    phrase('Every unit with the trust in its worst axle group, worst first. Open one to see why.'),
    phrase(
      'Sound: weights are good to what is tolerated. Due soon: not for much longer. Overdue: its calibration is too old.',
    ),
    phrase(
      'Doubtful: the evidence says that the line is off, or may be by more than is tolerated. Upset: something happened after which the line no longer counts. Uncalibrated: there is no line yet.',
    ),
    phrase(
      'The figure with ± is how well a weight at the limit is known: in 95 of 100 cases the true weight lies within it.',
    ),
    phrase('Click a heading to sort, type to search; what is shown can be saved as a spreadsheet or PDF.'),
  ],
  unit: [
    phrase(
      'All that is known of one unit: what was found, its lines, how they held, what was done to it, and its newest readings.',
    ),
    phrase(
      'Line: the dots are scale tickets with the pressure read beside them; the line through them tells a weight from a pressure. The band around it holds the true weight in 95 of 100 cases.',
    ),
    phrase(
      'Track: the weight that one fixed pressure stands for, weighing by weighing. While a line holds, it stays level; a step or a slope is a change of the truck, the sensor or the scale.',
    ),
    phrase('Checks: what the scale showed less what the line reads. Within the ± they agree.'),
    phrase(
      'Load to: the pressure up to which the group is under its limit with the confidence that the House Rules ask for.',
    ),
  ],
  weigh: [
    phrase('Tells what a combination weighs from its pressures, typed in or the newest on record.'),
    phrase('Every weight carries its ±: in 95 of 100 cases the true weight lies within it.'),
    phrase(
      'Over and under are said only where the chance is above what the House Rules ask for; between them it is too close to call, and only a scale can tell.',
    ),
    phrase('Where there is no weight, the reason stands in its place and says what to do.'),
    phrase('A weight from a pressure is never legal for trade: the certified scale and the local authority decide.'),
  ],
  'weigh-in': [
    phrase('Takes in scale tickets with the pressures read beside them, and makes a calibration line from them.'),
    phrase('The line is drawn while you type: two loads far apart make a better line than five that are alike.'),
    phrase(
      'Type what is on the ticket. Where a figure looks mistyped, the screen says which one would fit; nothing is changed for you.',
    ),
    phrase('What you type is kept until it is saved, also when the window closes.'),
    phrase(
      'Read the pressures on level ground, brakes released, air built up and nobody moving in the cab, a minute after stopping.',
    ),
  ],
  'one-ticket': [
    phrase('One ticket with its photo and the pressures of the same moment, as a driver has it in hand at the scale.'),
    phrase('Without a time, the ticket is of now; type the time that is printed on it where it was weighed before.'),
    phrase(
      'Where the house cannot be reached, the ticket is kept here with its photo, and sent by itself, once, when it can.',
    ),
    phrase('A calibration is made of tickets at the counter, on the Weigh-in or from the record.'),
  ],
  'cab-card': [
    phrase('What a driver reads off the gauges of one unit: the pressure to load to at most, group by group.'),
    phrase('Up to that pressure the group is under its limit with the confidence that the House Rules ask for.'),
    phrase('Open a group’s list for the weight at every pressure, with its ± of 95 %.'),
    phrase('The card is that of today’s lines; a printed one is as old as its date.'),
  ],
  unsent: [
    phrase(
      'What was saved on this device and has not come to the house yet. It is sent by itself, oldest first, each once.',
    ),
    phrase(
      'Where the house will not have it, the reason stands beside it: take it back to its form and correct it there.',
    ),
    phrase('Only the person who typed something sees it, and only while signed in.'),
  ],
  calibrate: [
    phrase('Makes a calibration from tickets and readings that are on record already.'),
    phrase('Choose the weighings that count; the line is shown as they are chosen.'),
    phrase('Leave out weighings from before recorded work on the suspension: the group was another one then.'),
    phrase('The older calibration stays on record; the newest that counts is the one in use.'),
  ],
  'scale-house': [
    phrase(
      'Every scale, how far it weighs off from what the whole fleet says, and every ticket and reading on record.',
    ),
    phrase('Bias: what the weighings on this scale have in common. + means that it shows too much; the ± is 95 %.'),
    phrase(
      'A scale is called biased only when it is surely beyond what is tolerated. Do not calibrate on it until that is settled.',
    ),
    phrase('What all scales have in common no ticket can show.'),
  ],
  ticket: [
    phrase('One weighing on a scale as it was recorded, with the units that stood on it.'),
    phrase('Correct a mistyped figure here, with a reason: the first figure stays in the change log.'),
    phrase('Before you save, the screen says which lines and verdicts will change.'),
    phrase('Void takes a ticket out of everything that follows from it; it can be undone.'),
  ],
  reading: [
    phrase('The pressures of one moment, as they came from the sensors or were typed in.'),
    phrase('Correct a mistyped figure here, with a reason: the first figure stays in the change log.'),
    phrase('Before you save, the screen says which lines and verdicts will change.'),
  ],
  heavy: [
    phrase(
      'Which weighings were over a limit, by how much, and how surely. By ticket where there is one, else by pressure.',
    ),
    phrase('Chance: how likely the true weight is over the limit, given all that is known of the line today.'),
    phrase(
      'Over by: the best weight less the limit, with its 95 %. Too close to call: neither over nor under is sure.',
    ),
    phrase('“Was” says that another word stood here before: later weighings showed that the line was off.'),
    phrase('Rates draw a unit with few weighings toward the fleet, so that one bad day does not make an offender.'),
  ],
  monday: [
    phrase(
      'Who ran heavy last month, against the month before and the same month a year ago: by unit, driver, loading lane and yard.',
    ),
    phrase('A rate is the share of weighings that were over. The interval beside it says how well it is known, 95 %.'),
    phrase('Surely worse than the fleet is said only where the whole interval lies above the fleet’s rate.'),
    phrase('Loads that were called otherwise at the time are counted below, with the reason.'),
    phrase('One page, as PDF or on paper.'),
  ],
  shop: [
    phrase(
      'The shop’s work by yard: cells to swap, lines to recalibrate, units to weigh, in the order of the days the bench works.',
    ),
    phrase('Risk: how likely a cell dies before the unit’s next visit, by its age and how often its sensor reports.'),
    phrase('A job is put on the day of a visit where that comes in time, else on the first free slot.'),
    phrase(
      'A sensor is without its cell for about 45 seconds before it can be paired again, and pairs within two minutes. Each job shows its cautions: read them before you open a line.',
    ),
    phrase('Cells to order adds up what will be needed, with a range that holds it in eight cases of ten.'),
  ],
  'house-rules': [
    phrase(
      'What your fleet holds itself to: what is tolerated, how sure a verdict has to be, how often to calibrate, and the measures in use.',
    ),
    phrase('Each rule tells its usual value, what is accepted, and where it comes from.'),
    phrase('A rule that is changed judges the whole fleet again; this goes on beside your work.'),
    phrase('Every change is kept in the change log, with the name of whoever made it.'),
  ],
  fleet: [
    phrase('The record of the fleet: yards, scales and units, and what belongs to them.'),
    phrase(
      'A new unit takes its axle groups, circuits, sensors and cells in one form; copy one for many that are built alike.',
    ),
    phrase('Nothing is thrown away: a unit that left the fleet is retired and keeps its history.'),
  ],
  record: [
    phrase('What is on record of one unit: its data, axle groups, circuits, sensors, cells and the work done on it.'),
    phrase('Give the day since when a sensor is mounted as it was: readings from before that day do not count for it.'),
    phrase(
      'Record work on valves, springs, ride height and axles: from that day on a new line is needed, and the old one is not blamed.',
    ),
  ],
  log: [
    phrase('Every change of the record: who, when, what it was before and what it is now.'),
    phrase('Undo takes the last change back, and is itself a change that is kept here.'),
    phrase('Choose a unit, a person or days to find one change among many.'),
  ],
  folder: [
    phrase('Imports a fleet folder, and exports one: plain CSV files that other programs can read.'),
    phrase(
      'An import is looked over first: every line that will not do is named, with its file, its line and what is accepted.',
    ),
    phrase('An export holds the whole record; imported into an empty file it gives the same fleet again.'),
  ],
  foreign: [
    phrase(
      'Imports a CSV file of any other layout: tell once which column is what, and the mapping is kept for the next time.',
    ),
    phrase('The preview shows what each line would become, and asks where a figure can be read in two ways.'),
    phrase('Nothing is stored before you say so.'),
  ],
  copies: [
    phrase('Where the copies of the fleet file lie, how old they are, and whether they are whole.'),
    phrase('A copy is made each day that something changed; each is checked after it is made.'),
    phrase('Restoring puts a copy in place of the file; the file as it was is kept beside it.'),
  ],
  safekeeping: [
    phrase(
      'Whether the fleet file and its copies are safe: when it was last checked whole, when a restore was last tried, and where copies lie.',
    ),
    phrase(
      'A check reads the whole file; a rehearsal restores the newest copy into a folder of its own, compares it, and removes it again. Your file is not touched.',
    ),
    phrase('A second place is a folder on another drive or computer: a copy there survives the loss of this disk.'),
    phrase('Overdue means that the check, the rehearsal or the copy has not been done for longer than it should.'),
  ],
  people: [
    phrase('Who may sign in at a desk of this house, as what, and what has happened at the door.'),
    phrase(
      'Whoever is invited chooses a password by a link that works once. A driver weighs the units that are given here.',
    ),
    phrase(
      'A change of role, or of the units, ends the sessions of that person; a name is never given to somebody else.',
    ),
  ],
  share: [
    phrase(
      'How other desks reach this fleet: the address, its QR code, and the figures by which a desk knows the house.',
    ),
    phrase('On one machine alone it says how to start a house: one machine that serves the fleet file to all desks.'),
    phrase(
      'Each desk is given the file of the authority once; then its browser trusts the house and no warning comes up.',
    ),
  ],
  about: [
    phrase('What runs here, where its files lie, and the licenses of what it is built from.'),
    phrase('The bundle for whoever helps you holds the log; the fleet goes with it only if you tick it.'),
  ],
}
