import { writeFileSync } from 'node:fs'

/** Loaded into a measured program with `node --import`: leaves the largest memory it ever held, in bytes, in a file. */
const file = process.env['BENCH_PEAK_FILE']
// resourceUsage speaks of kilobytes on every system; threads of the process are in it.
if (file !== undefined) process.on('exit', () => writeFileSync(file, String(process.resourceUsage().maxRSS * 1024)))
