import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import type { StoredValues } from '#core/words/change.ts'
import { toStoredInstant, typedInstantMs } from '#core/words/instant.ts'
import { typedSubjects } from '#core/words/record-fields.ts'
import { eventKinds, pressureReferences } from '#core/words/vocabulary.ts'
import { base, editing, newName, typedInstant, person, typedName } from '#core/contracts/base.ts'

/** What the forms of the fleet ask and send; columns, units of measure and times as stored. */
const id = z.number().int()
const zone = z.string().max(100).nullable()
const stored = z.union([z.string().max(10_000), z.number(), z.null()])
/** A time is stored in one form only, whatever offset it came with. */
const instant = typedInstant.transform((text) => toStoredInstant(typedInstantMs(text)))

/** Values by stored column: which ones a subject has, and what they accept, stands in core/fleet/record-fields.ts. */
const values = z
  .record(z.string().max(60), stored)
  .refine((record) => Object.keys(record).length <= 40, { error: () => phrase('At most 40 fields are accepted') })
const shown = z.custom<StoredValues>((value) => typeof value === 'object' && value !== null)

const record = z.object({ id, values: shown })
export type FleetRecord = z.infer<typeof record>

const mount = record.extend({ serial: z.string(), reference: z.enum(pressureReferences) })
const circuit = record.extend({
  mounts: z.array(mount),
  /** The first reading of it that no recorded sensor can have taken: since when its sensor has been there. */
  firstReadAt: z.string().nullable(),
})
const group = record.extend({
  /** Valid calibrations: what work on the vehicle would break. */
  lines: z.number(),
  circuits: z.array(circuit),
})
export const unitRecord = z.object({
  unit: record.extend({ retired: z.boolean() }),
  groups: z.array(group),
  yards: z.array(z.object({ id, name: z.string() })),
})
export type UnitRecord = z.infer<typeof unitRecord>
export type GroupRecord = z.infer<typeof group>
export type CircuitRecord = z.infer<typeof circuit>
export type MountRecord = z.infer<typeof mount>

export const fleetBasics = z.object({
  yards: z.array(record.extend({ units: z.number() })),
  scales: z.array(record.extend({ tickets: z.number() })),
  sensors: z.number(),
  units: z.number(),
  /** Numbers of retired units, some of them where they are many. */
  retired: z.object({ units: z.number(), first: z.array(z.string()) }),
})
export type FleetBasics = z.infer<typeof fleetBasics>

const sensorListInput = z.object({
  text: z.string().max(200).optional(),
  after: z.string().max(200).optional(),
  limit: z.number().int().min(1).max(200).optional(),
})
export const sensorPage = z.object({
  rows: z.array(
    record.extend({
      seat: z
        .object({ unit: z.string(), group: z.string(), circuit: z.string(), circuitId: id, since: z.string() })
        .nullable(),
    }),
  ),
  /** What to ask `after` for the next page; null on the last. */
  next: z.string().nullable(),
})
export type SensorRow = z.infer<typeof sensorPage>['rows'][number]

/**
 * Where a new record belongs: to a unit, to a group of it, or to a circuit; none for yards, units, sensors and scales.
 */
const parent = z.object({ unitId: id.optional(), groupId: id.optional(), circuitId: id.optional() })

export const saveRecordInput = z.object({
  subject: z.enum(typedSubjects),
  /** null: a new record. */
  id: id.nullable(),
  parent: parent.optional(),
  /** What the person saw; of a new record nothing. */
  was: values,
  values,
  reason: z.string().trim().max(2000).nullable(),
  /** Zone in which its times were typed. */
  localZone: zone,
  /**
   * When the vehicle was worked on, if the change tells of work that breaks the line; null: the record was wrong
   * before.
   */
  workedAt: instant.nullable(),
  by: person,
})
export type SaveRecordInput = z.input<typeof saveRecordInput>
/** event: the work that was recorded with it. */
const savedRecord = z.object({ id, event: z.enum(eventKinds).nullable() })

export const mountInput = z.object({
  serial: typedName,
  circuitId: id,
  values,
  localZone: zone,
  /** Of a sensor that the fleet does not have yet. */
  newReference: z.enum(pressureReferences).nullable(),
  /** What else is known of the sensor, by column; what the fleet knows of it already stays. */
  sensor: values.optional(),
  by: person,
})

/** At once: ten units with their groups left and right, and more. */
const mostMounts = 100
/** Refused values are named by the place of their row and the column, as `rowField` writes them. */
export const mountManyInput = z.object({
  mounts: z
    .array(z.object({ circuitId: id, serial: typedName, mountedAt: instant }))
    .min(1)
    .max(mostMounts),
  localZone: zone,
  newReference: z.enum(pressureReferences),
  sensor: values,
  by: person,
})

const mostParts = 12
export const addUnitInput = z.object({
  values,
  /** From front to back, each with its circuits and the serials of the sensors that sit on them. */
  groups: z
    .array(
      z.object({
        values,
        circuits: z.array(z.object({ values, serial: typedName.nullable() })).max(mostParts),
      }),
    )
    .max(mostParts),
  /** Of all its sensors. */
  mountedAt: instant,
  newReference: z.enum(pressureReferences),
  sensor: values,
  localZone: zone,
  by: person,
})

const bareCircuitsInput = z.object({ units: z.array(typedName).max(50).optional() })
/** Circuits of units in service that no sensor sits on, by unit. */
export const bareCircuits = z.array(
  z.object({
    circuitId: id,
    unit: z.string(),
    group: z.string(),
    circuit: z.string(),
    /** The first reading of it that no recorded sensor can have taken. */
    firstReadAt: z.string().nullable(),
  }),
)
export type BareCircuit = z.infer<typeof bareCircuits>[number]

/** How far a file has come on the way to its first weight. */
export const firstSteps = z.object({
  yard: z.boolean(),
  scale: z.boolean(),
  /** A tractor or truck, and a trailer. */
  lead: z.boolean(),
  trailer: z.boolean(),
  /** A circuit that could carry a sensor, and one that does. */
  circuit: z.boolean(),
  sensor: z.boolean(),
  ticket: z.boolean(),
  line: z.boolean(),
  /** The unit whose weights are known first: a tractor or truck with a line, or another unit with one. */
  weighs: z.string().nullable(),
})
export type FirstSteps = z.infer<typeof firstSteps>

const copyUnitInput = z.object({
  unit: typedName,
  numbers: z
    .array(newName)
    .min(1)
    .max(50, { error: () => phrase('At most 50 units are copied at once') }),
  by: person,
})
const countOnInput = z.object({ unit: typedName, count: z.number().int().min(1).max(50) })
const retireInput = z.object({
  unit: typedName,
  retired: z.boolean(),
  reason: z.string().trim().max(2000).nullable(),
  by: person,
})

/** The record of the fleet itself, typed by hand. */
export const fleetContract = {
  basics: base.output(fleetBasics),
  sensors: base.input(sensorListInput).output(sensorPage),
  unit: base.input(z.object({ unit: z.string().min(1).max(200) })).output(unitRecord),
  save: editing.input(saveRecordInput).output(savedRecord),
  /** Puts a sensor on a circuit, and takes off whatever that moves. */
  mount: editing.input(mountInput).output(z.object({ id: z.number() })),
  /** A sensor on each of many circuits: all of them or none. */
  mountMany: editing.input(mountManyInput).output(z.object({ mounted: z.number() })),
  /** A unit with its groups, circuits and sensors: all of it or none. */
  addUnit: editing.input(addUnitInput).output(z.object({ id: z.number() })),
  bareCircuits: base.input(bareCircuitsInput).output(bareCircuits),
  firstSteps: base.output(firstSteps),
  nextNumbers: base.input(countOnInput).output(z.array(z.string())),
  copyUnit: base.input(copyUnitInput).output(z.object({ added: z.array(z.string()) })),
  retire: editing.input(retireInput).output(z.object({ retired: z.boolean() })),
  /** The installation of a unit's sensors, to be filled in at the bay. */
  baySheet: base.input(z.object({ unit: z.string().min(1).max(200) })).output(z.file()),
}
