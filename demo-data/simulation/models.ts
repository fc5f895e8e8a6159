import type { GroupRole, Measure, UnitKind } from '#core/words/vocabulary.ts'

/** Catalogue of invented vehicles. Lengths in ft, weights in lb, areas in in², heights in in. */
export interface CircuitModel {
  readonly name: string
  readonly airSprings: number
  readonly springAreaIn2: number
  readonly rideHeightIn: number
}

export interface GroupModel {
  readonly name: string
  readonly role: GroupRole
  readonly axles: number
  readonly firstAxleFt: number
  readonly axleSpacingFt: number | null
  readonly limitLb: number
  readonly measuredBy: Measure
  /** On the road without trailer and cargo, half a tank. */
  readonly tareLb: number
  readonly unsprungLb: number
  readonly linkage: number
  readonly circuits: readonly CircuitModel[]
}

export interface VehicleModel {
  readonly kind: UnitKind
  readonly make: string
  readonly model: string
  readonly vinModel: string
  readonly years: readonly [first: number, last: number]
  readonly grossLimitLb: number | null
  /** Behind the front axle. */
  readonly fifthWheelFt: number | null
  readonly kingpinTareLb: number
  readonly groups: readonly GroupModel[]
  /** Cargo that fills it to about its limits; 0 for tractors. */
  readonly fullCargoLb: number
  /**
   * Where a well-placed cargo's centre lies: share of the way from kingpin (or front axle) to the rear group's centre.
   */
  readonly cargoCentre: number
}

const steer = (tareLb: number, limitLb: number, measuredBy: Measure): GroupModel => ({
  name: 'steer',
  role: 'steer',
  axles: 1,
  firstAxleFt: 0,
  axleSpacingFt: null,
  limitLb,
  measuredBy,
  tareLb,
  unsprungLb: 0,
  linkage: 1,
  circuits: [],
})

const springs = (name: string, airSprings: number, springAreaIn2: number, rideHeightIn: number): CircuitModel => ({
  name,
  airSprings,
  springAreaIn2,
  rideHeightIn,
})

export const tractorModels: readonly VehicleModel[] = [
  {
    kind: 'tractor',
    make: 'Brennock',
    model: 'R6 Sleeper',
    vinModel: 'A',
    years: [2019, 2025],
    grossLimitLb: 80_000,
    fifthWheelFt: 17.4,
    kingpinTareLb: 0,
    fullCargoLb: 0,
    cargoCentre: 0,
    groups: [
      steer(10_200, 13_200, 'estimate'),
      {
        name: 'drive',
        role: 'drive',
        axles: 2,
        firstAxleFt: 16.8,
        axleSpacingFt: 4.3,
        limitLb: 34_000,
        measuredBy: 'circuit',
        tareLb: 8_300,
        unsprungLb: 4_700,
        linkage: 1.2,
        circuits: [springs('main', 4, 81, 8.5)],
      },
    ],
  },
  {
    kind: 'tractor',
    make: 'Brennock',
    model: 'R4 Day',
    vinModel: 'B',
    years: [2018, 2024],
    grossLimitLb: 80_000,
    fifthWheelFt: 14.1,
    kingpinTareLb: 0,
    fullCargoLb: 0,
    cargoCentre: 0,
    groups: [
      steer(9_700, 12_350, 'ticket'),
      {
        name: 'drive',
        role: 'drive',
        axles: 2,
        firstAxleFt: 13,
        axleSpacingFt: 4.3,
        limitLb: 34_000,
        measuredBy: 'circuit',
        tareLb: 7_500,
        unsprungLb: 4_400,
        linkage: 1.13,
        circuits: [springs('main', 4, 92, 9)],
      },
    ],
  },
  {
    kind: 'tractor',
    make: 'Talvane',
    model: 'Haul 72',
    vinModel: 'C',
    years: [2020, 2026],
    grossLimitLb: 80_000,
    fifthWheelFt: 17.9,
    kingpinTareLb: 0,
    fullCargoLb: 0,
    cargoCentre: 0,
    groups: [
      steer(10_600, 13_200, 'estimate'),
      {
        name: 'drive',
        role: 'drive',
        axles: 2,
        firstAxleFt: 17.2,
        axleSpacingFt: 4.5,
        limitLb: 34_000,
        measuredBy: 'circuit',
        tareLb: 8_600,
        unsprungLb: 4_900,
        linkage: 1.25,
        circuits: [springs('left', 2, 77, 11), springs('right', 2, 77, 11)],
      },
    ],
  },
]

export const trailerModels: readonly VehicleModel[] = [
  {
    kind: 'trailer',
    make: 'Quillmarch',
    model: '53 Van',
    vinModel: 'D',
    years: [2015, 2025],
    grossLimitLb: null,
    fifthWheelFt: null,
    kingpinTareLb: 5_000,
    fullCargoLb: 44_000,
    cargoCentre: 0.5,
    groups: [
      {
        name: 'tandem',
        role: 'trailer',
        axles: 2,
        firstAxleFt: 38.4,
        axleSpacingFt: 4.1,
        limitLb: 34_000,
        measuredBy: 'circuit',
        tareLb: 9_100,
        unsprungLb: 3_400,
        linkage: 1.06,
        circuits: [springs('main', 4, 88, 14)],
      },
    ],
  },
  {
    kind: 'trailer',
    make: 'Oxbarrow',
    model: 'F48 Spread',
    vinModel: 'E',
    years: [2014, 2024],
    grossLimitLb: null,
    fifthWheelFt: null,
    kingpinTareLb: 4_300,
    fullCargoLb: 47_000,
    cargoCentre: 0.54,
    groups: [
      {
        name: 'spread',
        role: 'trailer',
        axles: 2,
        firstAxleFt: 33.6,
        axleSpacingFt: 10.2,
        limitLb: 40_000,
        measuredBy: 'circuit',
        tareLb: 9_500,
        unsprungLb: 3_300,
        linkage: 1.09,
        circuits: [springs('front', 2, 96, 15), springs('rear', 2, 96, 15)],
      },
    ],
  },
  {
    kind: 'trailer',
    make: 'Quillmarch',
    model: '48 Tridem',
    vinModel: 'F',
    years: [2016, 2025],
    grossLimitLb: null,
    fifthWheelFt: null,
    kingpinTareLb: 4_600,
    fullCargoLb: 44_500,
    cargoCentre: 0.56,
    groups: [
      {
        name: 'tridem',
        role: 'trailer',
        axles: 3,
        firstAxleFt: 34.4,
        axleSpacingFt: 4.5,
        limitLb: 42_000,
        measuredBy: 'circuit',
        tareLb: 11_800,
        unsprungLb: 5_100,
        linkage: 1.05,
        circuits: [springs('main', 6, 84, 14)],
      },
    ],
  },
]

export const truckModels: readonly VehicleModel[] = [
  {
    kind: 'truck',
    make: 'Talvane',
    model: 'Mason 8',
    vinModel: 'G',
    years: [2017, 2025],
    grossLimitLb: 66_000,
    fifthWheelFt: null,
    kingpinTareLb: 0,
    fullCargoLb: 26_500,
    cargoCentre: 0.83,
    groups: [
      steer(12_200, 20_000, 'ticket'),
      {
        name: 'pusher',
        role: 'lift',
        axles: 1,
        firstAxleFt: 12.6,
        axleSpacingFt: null,
        limitLb: 13_200,
        measuredBy: 'ticket',
        tareLb: 0,
        unsprungLb: 0,
        linkage: 1,
        circuits: [],
      },
      {
        name: 'drive',
        role: 'drive',
        axles: 2,
        firstAxleFt: 17.1,
        axleSpacingFt: 4.5,
        limitLb: 34_000,
        measuredBy: 'circuit',
        tareLb: 11_600,
        unsprungLb: 5_000,
        linkage: 1.18,
        circuits: [springs('main', 4, 86, 10)],
      },
    ],
  },
]
