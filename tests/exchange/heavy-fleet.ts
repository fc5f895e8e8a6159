import { smallFleet, withRows } from '#tests/exchange/small-fleet.ts'

/**
 * The small fleet with loads on the road: R-10 is heavy on its drive axles, R-11 too close to call, and ticket 30600
 * heavy on its trailer.
 */
export function heavyFleet(): Record<string, string> {
  const trip = (reading: string, at: string, drive: number, left: number) => [
    `${reading},${at},T-101,drive,main,${drive},,,2640,60,none`,
    `${reading},${at},V-201,tandem,left,${left},,,2640,60,none`,
    `${reading},${at},V-201,tandem,right,${left + 0.4},,,2640,60,none`,
  ]
  const rows = [
    ...trip('R-10', '2025-04-01T15:00:00Z', 70, 58),
    ...trip('R-11', '2025-04-02T15:00:00Z', 67, 50),
    ...trip('R-12', '2025-05-02T15:00:00Z', 40, 35),
  ]
  const ticket = [
    ['T-101,steer', 11_400],
    ['T-101,drive', 32_900],
    ['V-201,tandem', 34_700],
  ].map(([place, weight]) => `Salt Bend Yard,30600,2025-05-09T15:00:00Z,${place},${weight},79000`)
  return withRows(withRows(smallFleet(), 'readings.csv', ...rows), 'tickets.csv', ...ticket)
}
