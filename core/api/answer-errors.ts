import { mapEventIterator } from '@orpc/client'
import { ORPCError, ValidationError } from '@orpc/server'
import { measuredRange } from '#core/contracts/within.ts'
import { faultDuringWork } from '#core/store/sqlite-fault.ts'
import { type MeasureSet, acceptedMeasure, amountText } from '#core/words/measures.ts'
import { ConflictError, FieldError, type Problem, TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

const programFault = (): string =>
  phrase(
    'Tareline stopped this step because of a fault in the program. What was saved before is kept. The details are in the log.',
  )

/** The typed answer REFUSED with the problem's sentence; a handler throws it. */
export function refusal({
  code,
  field,
  value,
  accepted,
  message,
}: Problem): ORPCError<'REFUSED', Omit<Problem, 'message'>> {
  return new ORPCError('REFUSED', { status: 422, message, data: { code, field, value, accepted } })
}

/** A value as a sentence can show it; the parts that JSON has no word for are said in JavaScript's. */
function shown(value: unknown): string {
  if (value === undefined) return 'nothing'
  try {
    const text = JSON.stringify(value, (_key, part: unknown) =>
      typeof part === 'bigint' || Number.isNaN(part) ? String(part) : part,
    )
    return (text ?? typeof value).slice(0, 80)
  } catch (error) {
    // Thousands of lists in each other are deeper than JSON goes.
    if (error instanceof RangeError) return phrase('a value nested too deeply')
    throw error
  }
}

function valueAt(data: unknown, path: readonly PropertyKey[]): unknown {
  let found: unknown = data
  for (const key of path) found = typeof found === 'object' && found !== null ? Reflect.get(found, key) : undefined
  return found
}

/** A call whose input does not fit its schema: names the first field that does not, its value and what is accepted. */
async function misfit({ issues, data }: ValidationError, measuresInUse: () => Promise<MeasureSet>) {
  const issue = issues[0]
  const path = (issue?.path ?? []).map((step) => (typeof step === 'object' ? step.key : step))
  const field = path.map(String).join('.') || 'input'
  const found = valueAt(data, path)
  const measured = measuredRange.safeParse(issue && 'params' in issue ? issue.params : undefined)
  let value = shown(found)
  let accepted = issue?.message ?? phrase('another value')
  if (measured.success) {
    const { kind, range } = measured.data
    const measure = (await measuresInUse())[kind]
    value = amountText(Number(found), measure)
    accepted = `${acceptedMeasure(range, measure)} is accepted`
  }
  return refusal({
    code: 'not-accepted',
    field,
    value,
    accepted,
    message: phrase('{field} is {value}, which is not accepted. {accepted}.', { field, value, accepted }),
  })
}

/**
 * What a screen is told about an error: a sentence for what a person can put right, typed as REFUSED; a plain sentence
 * for what the disk or another program did, and one without inner details for everything else, both of which `report`
 * takes down together with its cause.
 */
export async function asAnswer(
  error: unknown,
  report: (error: unknown) => void,
  measuresInUse: () => Promise<MeasureSet>,
): Promise<ORPCError<string, unknown>> {
  if (error instanceof ConflictError)
    return new ORPCError('CONFLICT', { status: 409, message: error.message, data: { fields: error.conflicts } })
  if (error instanceof FieldError)
    return refusal({ code: error.code, field: error.field, value: '', accepted: '', message: error.message })
  if (error instanceof TarelineError)
    return refusal({ code: error.code, field: '', value: '', accepted: '', message: error.message })
  if (error instanceof ORPCError) {
    if (error.code === 'BAD_REQUEST' && error.cause instanceof ValidationError)
      return misfit(error.cause, measuresInUse)
    if (error.code !== 'INTERNAL_SERVER_ERROR') return error
  }
  report(error)
  const fault = faultDuringWork(error)
  if (fault) return refusal({ code: fault.code, field: '', value: '', accepted: '', message: fault.message })
  return new ORPCError('INTERNAL_SERVER_ERROR', { message: programFault() })
}

export const isStream = (output: unknown): output is AsyncIterator<unknown, unknown, void> =>
  typeof output === 'object' && output !== null && Symbol.asyncIterator in output && 'next' in output

interface Follow {
  /** What goes out for an error that comes up while a stream runs. */
  readonly answer: (error: unknown) => Promise<unknown>
  /** Told the output once it is whole: a stream's last word, or any other output as it is. */
  readonly done: (output: unknown) => void
}

/** Follows an output to its end; one that is no stream is there already. */
export function followStream<T>(output: T, { answer, done }: Follow): T {
  if (!isStream(output)) {
    done(output)
    return output
  }
  const value = async (part: unknown, isLast?: boolean) => {
    if (isLast === true) done(part)
    return part
  }
  return mapEventIterator(output, { value, error: answer }) as T
}
