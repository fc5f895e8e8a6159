import type { Problem } from '#core/words/problem.ts'
import type { Say } from '#core/words/say.ts'
import { phrase } from '#core/words/phrase.ts'

/** Why points make no line, as `Problem` has it: a weight in lb, a pressure in psi. */
export type LineProblem = { code: string; value: string; message: string }

/** The part of a problem that is said, as facts of a sentence. */
export const lineProblemFacts = ({ code, value, message }: Problem): LineProblem => ({ code, value, message })

/** The problem of a line for a person who reads the measures in use; those without a quantity have one sentence. */
export function sayLineProblem({ code, value, message }: LineProblem, say: Say): string {
  switch (code) {
    case 'identical-x':
      return phrase('All points have the same pressure, {value}; at least two different ones are needed.', {
        value: say.pressure(Number(value)),
      })
    case 'identical-y':
      return phrase('All points have the same weight, {value}; at least two different ones are needed.', {
        value: say.ticket(Number(value)),
      })
    case 'too-close':
      return phrase(
        'The pressures of all points are closer together than the sensor tells apart; {value} or more apart is needed.',
        { value: say.pressure(Number(value)) },
      )
    case 'no-slope':
      return phrase(
        'The line through these points is level: the weight does not change with the pressure. Check the points for slips.',
      )
    default:
      return message
  }
}
