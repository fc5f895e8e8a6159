import { describe, expect, it } from 'vitest'
import { type FleetFiles, smallFleet, withCell, withRows } from '#tests/exchange/small-fleet.ts'
import { bringBadly, bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

type Case = readonly [
  what: string,
  files: FleetFiles,
  problem: { file: string; line: number; column: string | null; value?: string; accepted?: RegExp },
]

const cell = (what: string, file: string, line: number, column: string, value: string, accepted: RegExp): Case => [
  what,
  withCell(smallFleet(), file, line, column, value),
  { file, line, column, value, accepted },
]

const row = (what: string, file: string, line: number, column: string, added: string, accepted?: RegExp): Case => [
  what,
  withRows(smallFleet(), file, added),
  { file, line, column, ...(accepted ? { accepted } : {}) },
]

const time = /date and time with its offset/

const values: Case[] = [
  cell('an elevation that is text', 'yards.csv', 2, 'elevation_ft', 'high', /plain number from -1,500 to 20,000 ft/),
  cell('a unit of no kind', 'units.csv', 2, 'kind', 'van', /tractor, trailer or truck/),
  cell('a new unit without a kind', 'units.csv', 2, 'kind', '', /tractor, trailer or truck/),
  cell('a model year with a fraction', 'units.csv', 2, 'model_year', '2022.5', /whole number from 1900 to 2100/),
  cell(
    'a gross limit with a thousands separator',
    'units.csv',
    2,
    'gross_limit_lb',
    '80 000',
    /plain number from 1 to 1,000,000 lb/,
  ),
  cell('a row without its key', 'units.csv', 3, 'unit', '', /up to 200 characters/),
  cell('a number with an exponent', 'axle_groups.csv', 3, 'limit_lb', '3.4e4', /plain number/),
  cell('no axles', 'axle_groups.csv', 2, 'axles', '0', /1 to 12 axles/),
  cell('a role that is none', 'axle_groups.csv', 2, 'role', 'front', /steer, drive, trailer or lift/),
  cell(
    'a group whose weight comes from nowhere known',
    'axle_groups.csv',
    2,
    'measured_by',
    'guess',
    /circuit, estimate or ticket/,
  ),
  cell('an area beyond reason', 'circuits.csv', 2, 'spring_area_in2', '4000', /1 to 400 in²/),
  cell('a reference that is none', 'sensors.csv', 2, 'reference', 'relative', /gauge or absolute/),
  cell('a range of nothing', 'sensors.csv', 2, 'range_psi', '0', /1 to 1,000 psi/),
  cell('a time without its offset', 'mounts.csv', 2, 'mounted_at', '2025-01-08T06:00:00', time),
  cell('a day that does not exist', 'mounts.csv', 3, 'removed_at', '2025-02-29T06:00:00Z', time),
  cell(
    'a sensor removed before it was mounted',
    'mounts.csv',
    2,
    'removed_at',
    '2025-01-01T00:00:00Z',
    /not before mounted_at/,
  ),
  cell('a reason that is none', 'battery_changes.csv', 2, 'reason', 'why', /new, scheduled, low or dead/),
  cell('a division of nothing', 'scales.csv', 2, 'division_lb', '0', /0.1 to 1,000 lb/),
  cell('a negative weight', 'tickets.csv', 3, 'weight_lb', '-12080', /0 to 400,000 lb/),
  cell('a group without its weight', 'tickets.csv', 4, 'weight_lb', '', /weight of the group/),
  cell('a weight without its group', 'tickets.csv', 4, 'group', '', /group that was weighed/),
  cell('a ticket without a number', 'tickets.csv', 4, 'ticket', '', /up to 200/),
  cell('a pressure that is none', 'readings.csv', 2, 'psi', 'NaN', /-15 to 2,000 psi/),
  cell('a pressure of infinity', 'readings.csv', 3, 'psi', 'Infinity', /-15 to 2,000 psi/),
  cell('a reading without a pressure', 'readings.csv', 3, 'psi', '', /-15 to 2,000 psi/),
  cell('a lift that is none', 'readings.csv', 3, 'lift', 'up', /raised, lowered or none/),
  cell('a ticket without its scale', 'readings.csv', 3, 'scale', '', /scale of the ticket/),
  cell('a scale without its ticket', 'readings.csv', 3, 'ticket', '', /number of the ticket/),
  cell('a new reading without a time', 'readings.csv', 17, 'taken_at', '', time),
  cell('a date alone', 'calibrations.csv', 2, 'calibrated_at', '2025-03-04', time),
  cell('an event that is none', 'events.csv', 2, 'event', 'rest', /valve replaced, height set/),
  cell('a circuit without its group', 'events.csv', 2, 'group', '', /group of the circuit/),
  [
    'a name with a line break in it',
    { ...smallFleet(), 'yards.csv': 'yard,elevation_ft\n"Cinder\nGap",6210\nCinder Gap,\nLarch Hollow,\n' },
    { file: 'yards.csv', line: 2, column: 'yard', accepted: /on one line/ },
  ],
]

const references: Case[] = [
  cell('a yard', 'units.csv', 2, 'yard', 'Nowhere', /yard/),
  cell('a unit of a group', 'axle_groups.csv', 2, 'unit', 'T-999', /unit/),
  cell('a group of a circuit', 'circuits.csv', 3, 'group', 'tridem', /group/),
  cell('a sensor of a mount', 'mounts.csv', 2, 'serial', 'PX-1', /sensor/),
  cell('a circuit of a mount', 'mounts.csv', 2, 'circuit', 'aux', /circuit/),
  cell('a sensor of a battery change', 'battery_changes.csv', 3, 'serial', 'PX-1', /sensor/),
  cell('a scale of a ticket', 'tickets.csv', 17, 'scale', 'Elsewhere', /scale/),
  cell('a group of a ticket', 'tickets.csv', 4, 'group', 'tridem', /group/),
  cell('a circuit of a reading', 'readings.csv', 17, 'circuit', 'aux', /circuit/),
  cell('a ticket of a reading', 'readings.csv', 15, 'ticket', '99999', /ticket/),
  cell('a reading of a calibration', 'calibrations.csv', 3, 'reading', 'R-99', /reading/),
  cell('a ticket of a calibration', 'calibrations.csv', 3, 'ticket', '99999', /ticket/),
  cell('a unit of an event', 'events.csv', 3, 'unit', 'V-999', /unit/),
  row(
    'a ticket without the weight of the calibrated group',
    'calibrations.csv',
    10,
    'ticket',
    'T-101,drive,2025-08-01T00:00:00Z,,Salt Bend Yard,30500,R-6',
    /weight of unit T-101, group drive/,
  ),
  row(
    'a reading without a pressure of the calibrated group',
    'calibrations.csv',
    10,
    'reading',
    'V-201,tandem,2025-08-01T00:00:00Z,,Salt Bend Yard,30417,R-6',
    /pressure on unit V-201, group tandem/,
  ),
]

const contradictions: Case[] = [
  row('a unit', 'units.csv', 4, 'model_year', 'T-101,tractor,,,,,,2021,,,', /2022, which is said in line 2/),
  row(
    'the yard of a unit',
    'units.csv',
    4,
    'yard',
    'T-101,tractor,,,,,,,Larch Hollow,,',
    /Cinder Gap, which is said in line 2/,
  ),
  row('a group', 'axle_groups.csv', 5, 'axles', 'T-101,drive,drive,1,,,,', /2, which is said in line 3/),
  row(
    'a mount',
    'mounts.csv',
    5,
    'removed_at',
    'PA-01045,V-201,tandem,left,2025-01-08T06:30:00-07:00,2025-09-02T08:00:00-06:00',
    /2025-09-01T14:00:00Z, which is said in line 3/,
  ),
  row(
    'the time of a ticket',
    'tickets.csv',
    18,
    'weighed_at',
    'Salt Bend Yard,30500,2025-07-01T12:00:01Z,T-101,,,18740',
    /2025-07-01T12:00:00Z, which is said in line 17/,
  ),
  row('the gross of a ticket', 'tickets.csv', 18, 'gross_lb', 'Salt Bend Yard,30500,,T-101,,,18760', /18740/),
  row(
    'a weight of a ticket',
    'tickets.csv',
    18,
    'weight_lb',
    'Salt Bend Yard,30417,,T-101,steer,10140,',
    /10120, which is said in line 2/,
  ),
  row(
    'the elevation of a reading',
    'readings.csv',
    18,
    'elevation_ft',
    'R-1,,V-201,tandem,left,15.4,,,2650,,',
    /2640, which is said in line 2/,
  ),
  row(
    'the ticket of a reading',
    'readings.csv',
    18,
    'ticket',
    'R-1,,V-201,tandem,left,15.4,Salt Bend Yard,30418,,,',
    /30417 of Salt Bend Yard/,
  ),
  row('a pressure', 'readings.csv', 18, 'psi', 'R-1,,V-201,tandem,left,15.5,,,,,', /15.4/),
  row(
    'who calibrated',
    'calibrations.csv',
    10,
    'by',
    'V-201,tandem,2025-03-04T12:00:00-07:00,P. Alder,Salt Bend Yard,30446,R-5',
    /J. Winterbourn/,
  ),
  row(
    'who calibrated, said of the same point',
    'calibrations.csv',
    10,
    'by',
    'V-201,tandem,2025-03-04T12:00:00-07:00,P. Alder,Salt Bend Yard,30420,R-4',
    /J. Winterbourn, which is said in line 9/,
  ),
  row(
    'the note of an event',
    'events.csv',
    4,
    'note',
    'T-101,drive,main,2025-08-02T10:00:00Z,air line repaired,Other words',
    /Chafed line/,
  ),
]

const shapes: Case[] = [
  [
    'a ragged row',
    withRows(smallFleet(), 'yards.csv', 'North,500,'),
    { file: 'yards.csv', line: 4, column: null, value: '3 cells', accepted: /2 cells/ },
  ],
  [
    'a short row',
    withRows(smallFleet(), 'yards.csv', 'North'),
    { file: 'yards.csv', line: 4, column: null, value: '1 cell' },
  ],
  [
    'a column that is missing',
    { ...smallFleet(), 'yards.csv': 'name,elevation_ft\nCinder Gap,\nLarch Hollow,\n' },
    { file: 'yards.csv', line: 1, column: 'yard' },
  ],
  [
    'a column that is there twice',
    { ...smallFleet(), 'yards.csv': 'yard,elevation_ft,yard\n' },
    { file: 'yards.csv', line: 1, column: 'yard' },
  ],
  [
    'an empty file',
    { ...smallFleet(), 'yards.csv': '' },
    { file: 'yards.csv', line: 1, column: null, accepted: /header/ },
  ],
  [
    'a stray quote',
    withRows(smallFleet(), 'events.csv', 'V-201,,,2025-08-04T10:00:00Z,other,5" hose'),
    { file: 'events.csv', line: 4, column: null, value: '5" hose' },
  ],
  [
    'text after a quoted cell',
    withRows(smallFleet(), 'events.csv', 'V-201,,,2025-08-04T10:00:00Z,other,"hose" cut'),
    { file: 'events.csv', line: 4, column: null, value: ' cut' },
  ],
  [
    'a quote that never closes',
    withRows(smallFleet(), 'events.csv', 'V-201,,,2025-08-04T10:00:00Z,other,"hose', 'more'),
    { file: 'events.csv', line: 4, column: null, accepted: /closing quote/ },
  ],
]

const told = async (files: FleetFiles, problem: Case[2], before?: FleetFiles) =>
  withStore(async (store) => {
    if (before) await bringWell(store, before)
    const untouched = wholeRecord(store)
    const { problems, more } = await bringBadly(store, files)
    const { accepted, ...rest } = problem
    expect(
      problems.find(({ line, column }) => line === rest.line && column === rest.column),
      JSON.stringify(problems),
    ).toMatchObject(rest)
    const found = problems.find(({ line, column }) => line === rest.line && column === rest.column)
    expect(found?.accepted).toMatch(accepted ?? /^/)
    expect(
      found?.message.startsWith(`${rest.file} line ${rest.line}${rest.column === null ? ': ' : `, ${rest.column}: `}`),
    ).toBe(true)
    expect(more).toBe(false)
    expect(wholeRecord(store)).toEqual(untouched)
    return problems
  })

describe('a value that is not accepted', () => {
  it.each(values)('is told with its place and nothing is stored: %s', async (_, files, problem) => {
    await told(files, problem)
  })
})

describe('a name that refers to nothing', () => {
  it.each(references)('is told: %s', async (_, files, problem) => {
    await told(files, problem)
  })

  it('is not held against rows that refer to a faulty one', async () => {
    const files = withCell(
      withCell(smallFleet(), 'units.csv', 2, 'model_year', 'old'),
      'tickets.csv',
      17,
      'gross_lb',
      '-1',
    )
    const problems = await told(files, { file: 'units.csv', line: 2, column: 'model_year' })
    expect(problems.map(({ file, line }) => `${file} ${line}`)).toEqual(['units.csv 2', 'tickets.csv 17'])
  })
})

describe('a row that contradicts another of the same folder', () => {
  it.each(contradictions)('is told: %s', async (_, files, problem) => {
    await told(files, problem)
  })
})

describe('a row that contradicts what is stored', () => {
  it.each(contradictions.filter(([what]) => what !== 'who calibrated'))(
    'is told: %s',
    async (_, files, { accepted: __, ...problem }) => {
      await told(files, problem, smallFleet())
    },
  )
})

describe('a file that is not well-formed', () => {
  it.each(shapes)('is told: %s', async (_, files, problem) => {
    await told(files, problem)
  })

  it('is told when it is not UTF-8, with the line', async () => {
    const bytes = Buffer.concat([
      Buffer.from('yard,elevation_ft\nCinder Gap,\nLarch H'),
      Buffer.from([0xf6]),
      Buffer.from('llow,\n'),
    ])
    await withStore(async (store) => {
      const { problems } = await bringBadly(store, { ...smallFleet(), 'yards.csv': bytes })
      expect(problems[0]).toMatchObject({ file: 'yards.csv', line: 3, column: null, accepted: 'text in UTF-8' })
    })
  })
})

describe('a folder with many problems', () => {
  it('tells those of every file at once', async () => {
    const files = withCell(
      withCell(withCell(smallFleet(), 'scales.csv', 2, 'division_lb', '-1'), 'events.csv', 2, 'event', '?'),
      'readings.csv',
      17,
      'psi',
      'x',
    )
    const problems = await told(files, { file: 'events.csv', line: 2, column: 'event' })
    expect(problems.map(({ file }) => file)).toEqual(['scales.csv', 'readings.csv', 'events.csv'])
  })

  it.each([
    [199, false],
    [200, false],
    [201, true],
  ])('tells up to 200 of them: %i', (count, more) =>
    withStore(async (store) => {
      const bad = Array.from({ length: count }, (_, index) => `Y ${index},far`)
      const outcome = await bringBadly(store, withRows(smallFleet(), 'yards.csv', ...bad))
      expect(outcome.problems).toHaveLength(Math.min(count, 200))
      expect(outcome.problems.at(-1)).toMatchObject({
        file: 'yards.csv',
        line: 3 + Math.min(count, 200),
        column: 'elevation_ft',
        value: 'far',
      })
      expect(outcome.more).toBe(more)
      expect(wholeRecord(store)['yard']).toEqual([])
    }),
  )
})
