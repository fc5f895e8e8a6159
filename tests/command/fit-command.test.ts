import { readFileSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { describe, expect, it, vi } from 'vitest'
import { type Run, tareline } from '#tests/command/run-tareline.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'

// Each run is a process of its own, which takes its time on a busy machine.
vi.setConfig({ testTimeout: 120_000 })

// York et al., Am. J. Phys. 72 (2004) 367, Table II: Pearson's data with York's weights.
const { data, published, computed } = JSON.parse(
  readFileSync(resolve(import.meta.dirname, '../reference/york-pearson.json'), 'utf8'),
) as {
  data: { x: number[]; y: number[]; weight_x: number[]; weight_y: number[] }
  published: { a: number; b: number }
  computed: { a: number; b: number; u_a: number; u_b: number; cov_ab: number; chi2: number; dof: number }
}
const pearson = [
  'x,y,ux,uy',
  ...data.x.map((x, i) =>
    [x, data.y[i], 1 / Math.sqrt(data.weight_x[i] ?? 1), 1 / Math.sqrt(data.weight_y[i] ?? 1)].join(','),
  ),
].join('\n')

const fitPoints = (text: string, ...args: string[]): Promise<Run> =>
  withFolder((folder) => {
    const path = join(folder, 'points.csv')
    writeFileSync(path, text)
    return tareline('fit', path, ...args)
  })

describe('tareline fit', () => {
  it('gives the published line of Pearson and York', async () => {
    const run = await fitPoints(pearson, '--json')
    expect(run).toMatchObject({ exit: 0, error: '' })
    const line = run.json() as Record<string, number>
    expect(Object.keys(line)).toEqual(['a', 'b', 'u_a', 'u_b', 'cov_ab', 'chi2', 'dof', 'chi2_95'])
    expect(line['a']).toBeCloseTo(published.a, 6)
    expect(line['b']).toBeCloseTo(published.b, 7)
    for (const key of ['u_a', 'u_b', 'cov_ab', 'chi2'] as const)
      expect((line[key] ?? 0) / computed[key]).toBeCloseTo(1, 9)
    expect(line['dof']).toBe(8)
    expect(line['chi2_95']).toBeCloseTo(15.507, 3)
  })

  it('predicts and inverts, also at a negative number', async () => {
    const predicted = (await fitPoints(pearson, '--json', '--at', '-2.5')).json() as Record<string, number>
    expect(predicted['value']).toBeCloseTo(computed.a - 2.5 * computed.b, 9)
    expect(predicted['u']).toBeCloseTo(Math.sqrt(computed.u_a ** 2 + 6.25 * computed.u_b ** 2 - 5 * computed.cov_ab), 9)
    const inverted = (await fitPoints(pearson, '--json', '--invert', '4')).json() as Record<string, number>
    expect(inverted['value']).toBeCloseTo((4 - computed.a) / computed.b, 9)
    expect((await fitPoints(pearson, '--at', '2')).out).toMatch(/^y at x = 2: 4\.51/m)
  })

  it('gives no quantile for two points', async () => {
    expect((await fitPoints('x,y,ux,uy\n10,11000,0.4,40\n60,31000,0.4,40\n', '--json')).json()).toMatchObject({
      b: 400,
      dof: 0,
      chi2: 0,
      chi2_95: null,
    })
  })

  it.each([
    ['x,y,ux\n1,2,3\n', /points\.csv line 1, uy: the column is missing/],
    ['x,y,ux,uy\n1,2,0,1\n2,much,0,1\n', /points\.csv line 3, y: "much" is not accepted; a finite number is\./],
    ['x,y,ux,uy\n1,2,0,1\n2,3,0\n', /points\.csv line 3: the row has 3 cells/],
    ['x,y,ux,uy\n1,2,0,1\n', /two or more points/],
    ['x,y,ux,uy\n1,2,0,1\n2,3,0,0\n', /more than zero is accepted/],
    ['', /the file is empty/],
  ])('refuses %j', async (text, sentence) => {
    const run = await fitPoints(text, '--json')
    expect(run.exit).toBe(2)
    expect(run.error).toMatch(sentence)
    expect(run.json()).toMatchObject({ problems: [{}] })
  })

  it('lists the first 200 problems of a file that has more', async () => {
    const run = await fitPoints(`x,y,ux,uy\n${'1,much,0,1\n'.repeat(201)}`, '--json')
    expect(run.exit).toBe(2)
    expect((run.json() as { problems: unknown[] }).problems).toHaveLength(200)
  })

  it('refuses a wrong command line', async () => {
    expect(await fitPoints(pearson, '--at', '1', '--invert', '2')).toMatchObject({
      exit: 2,
      out: '',
      error: expect.stringContaining('one of them'),
    })
    expect(await fitPoints(pearson, '--at', 'noon')).toMatchObject({
      exit: 2,
      error: expect.stringContaining('--at is "noon"; a number is needed.'),
    })
    expect(await tareline('fit', 'nowhere.csv')).toMatchObject({
      exit: 2,
      error: expect.stringContaining('is not a file'),
    })
  })
})
