import { readFileSync } from 'node:fs'

/**
 * Reads the JSON report of Vitest or Playwright and prints `PASSED FAILED SKIPPED`; skipped tests are named on standard
 * error.
 */

interface Counts {
  passed: number
  failed: number
  skipped: string[]
}

interface VitestReport {
  readonly testResults: readonly {
    readonly name: string
    readonly status: string
    readonly assertionResults: readonly { readonly fullName: string; readonly status: string }[]
  }[]
}

interface PlaywrightSuite {
  readonly title: string
  readonly suites?: readonly PlaywrightSuite[]
  readonly specs?: readonly {
    readonly title: string
    readonly tests: readonly {
      readonly status: string
      readonly annotations: readonly { readonly type: string; readonly description?: string }[]
    }[]
  }[]
}

interface PlaywrightReport {
  readonly suites: readonly PlaywrightSuite[]
  readonly errors: readonly unknown[]
}

function countVitest({ testResults }: VitestReport): Counts {
  const tests = testResults.flatMap(({ assertionResults }) => assertionResults)
  // A file that could not be loaded, or whose hooks failed, has failed though none of its tests has.
  const brokenFiles = testResults.filter(
    ({ status, assertionResults }) => status === 'failed' && assertionResults.every((test) => test.status !== 'failed'),
  )
  return {
    passed: tests.filter(({ status }) => status === 'passed').length,
    failed: tests.filter(({ status }) => status === 'failed').length + brokenFiles.length,
    skipped: tests.filter(({ status }) => status !== 'passed' && status !== 'failed').map(({ fullName }) => fullName),
  }
}

function countPlaywright({ suites, errors }: PlaywrightReport): Counts {
  const counts: Counts = { passed: 0, failed: errors.length, skipped: [] }
  const walk = ({ suites: inner = [], specs = [] }: PlaywrightSuite) => {
    for (const { title, tests } of specs) {
      for (const { status, annotations } of tests) {
        if (status === 'expected') counts.passed += 1
        else if (status === 'skipped')
          counts.skipped.push(
            `${title}: ${annotations.find(({ type }) => type === 'skip')?.description ?? 'no reason given'}`,
          )
        // A test that passes only when it is repeated has failed.
        else counts.failed += 1
      }
    }
    for (const suite of inner) walk(suite)
  }
  for (const suite of suites) walk(suite)
  return counts
}

const [file = '', status = '1'] = process.argv.slice(2)
const report = JSON.parse(readFileSync(file, 'utf8')) as VitestReport | PlaywrightReport
const counts = 'testResults' in report ? countVitest(report) : countPlaywright(report)
// A runner that failed for another reason, such as an error outside of a test, is not a success.
if (status !== '0' && counts.failed === 0) counts.failed = 1
for (const name of counts.skipped) process.stderr.write(`SKIPPED: ${name}\n`)
process.stdout.write(`${counts.passed} ${counts.failed} ${counts.skipped.length}\n`)
