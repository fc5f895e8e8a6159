import { existsSync, statSync } from 'node:fs'
import { basename } from 'node:path'
import { readPoints } from '#core/exchange/read-points.ts'
import { fitLine } from '#core/line/fit.ts'
import { type Estimate, predictWeight, pressureAtWeight } from '#core/line/predict.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type Command, UsageError } from '#electron/command/command.ts'

const digits = (value: number, count = 10) => Number(value.toPrecision(count)).toString()

/** Fits a straight line to points uncertain in both coordinates. */
export const fitCommand: Command = {
  name: 'fit',
  summary: 'Fit the line y = a + b x to the points of a CSV file with the columns x, y, ux, uy.',
  arguments: ['POINTS.csv'],
  options: {
    at: { type: 'string', value: 'X', about: 'also give y at this x, with its standard uncertainty' },
    invert: { type: 'string', value: 'Y', about: 'also give x at this y, with its standard uncertainty' },
  },
  run: async (input) => {
    const at = input.numberOr('at')
    const invert = input.numberOr('invert')
    if (at !== undefined && invert !== undefined)
      throw new UsageError('Both --at and --invert are given; one of them is accepted.')
    const path = input.argument(0)
    if (!existsSync(path) || !statSync(path).isFile())
      throw new TarelineError('missing', `${path} is not a file. Name a CSV file with the columns x, y, ux, uy.`)
    const { points, problems } = await readPoints(path, basename(path))
    if (problems.problems.length > 0) {
      return {
        document: { problems: problems.problems },
        text: '',
        messages: problems.problems.map(({ message }) => message),
        exit: 2,
      }
    }
    const fitted = fitLine(points)
    if (!fitted.ok)
      return { document: { problems: [fitted.problem] }, text: '', messages: [fitted.problem.message], exit: 2 }
    const fit = fitted.value
    let estimate: Estimate | undefined
    if (at !== undefined) estimate = predictWeight(fit, at)
    if (invert !== undefined) estimate = pressureAtWeight(fit, invert)
    const lines = [
      `y = ${digits(fit.a)} + ${digits(fit.b)} x`,
      `standard uncertainty: a ${digits(fit.uA, 6)}, b ${digits(fit.uB, 6)}; covariance ${digits(fit.covAB, 6)}`,
      fit.chi2Limit95 === null
        ? 'two points: the line goes through both and cannot check itself'
        : `chi-squared ${digits(fit.chi2, 6)} with ${fit.dof} degrees of freedom; ` +
          `95 % quantile ${digits(fit.chi2Limit95, 6)}`,
    ]
    if (estimate)
      lines.push(
        `${at !== undefined ? `y at x = ${at}` : `x at y = ${invert}`}: ${digits(estimate.value)}, ` +
          `standard uncertainty ${digits(estimate.u, 6)}`,
      )
    return {
      document: {
        a: fit.a,
        b: fit.b,
        u_a: fit.uA,
        u_b: fit.uB,
        cov_ab: fit.covAB,
        chi2: fit.chi2,
        dof: fit.dof,
        chi2_95: fit.chi2Limit95,
        ...(estimate ? { value: estimate.value, u: estimate.u } : {}),
      },
      text: lines.join('\n'),
    }
  },
}
