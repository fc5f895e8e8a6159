/**
 * The day and the place of the whole suite: a Wednesday, its machine in the zone that is given. Set TARELINE_CLOCK (a
 * time with its offset) or TARELINE_ZONE to run it on another day or with another zone for new fleet files; what the
 * system's own clock and TZ say makes no difference.
 */
export const suiteEnvironment = (zone: string) => ({
  TARELINE_CLOCK: process.env['TARELINE_CLOCK'] ?? '2026-11-25T18:00:00Z',
  TARELINE_ZONE: process.env['TARELINE_ZONE'] ?? zone,
})
