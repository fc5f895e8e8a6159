/** Whether the suites of faults run in their long form, as `npm run faults` has them. */
export const isNightly = process.env['TARELINE_NIGHTLY'] === '1'

/** How often the main process is killed: TARELINE_KILLS, or 15. */
export const kills = Number(process.env['TARELINE_KILLS'] ?? 15)
