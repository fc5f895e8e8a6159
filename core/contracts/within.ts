import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import type { MeasuredKind } from '#core/words/measures.ts'
import { type Range, describeRange } from '#core/words/vocabulary.ts'

/** What an issue of `within` carries, so that the answer can say it in the measures in use. */
export const measuredRange = z.object({ kind: z.custom<MeasuredKind>(), range: z.custom<Range>() })

/** A number of a range, in stored units. */
export const within = (range: Range, kind: MeasuredKind) =>
  z
    .number()
    .refine((value) => value >= range.min && value <= range.max, {
      error: () => phrase('{range} is accepted', { range: describeRange(range) }),
      params: { kind, range } satisfies z.infer<typeof measuredRange>,
    })
    .meta({ minimum: range.min, maximum: range.max })

/** Names that Windows keeps for devices, whatever comes after a dot. */
const windowsDevice = /^(?:con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³]|conin\$|conout\$)(?:\.|$)/i
const longestName = 255

/** Bytes of a text as UTF-8, which is what file systems count. */
const utf8Bytes = (text: string): number =>
  Array.from(text).reduce((sum, sign) => {
    const code = sign.codePointAt(0) ?? 0
    return sum + (code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4)
  }, 0)

type System = 'windows' | 'other'

/** `C:\…`, `\\server\share\…` or `/…`; what a path means must not hang on where the app was started. */
function systemOf(path: string): System | undefined {
  if (path.startsWith('/')) return 'other'
  return /^[a-z]:[\\/]/i.test(path) || /^\\\\[^\\/?.][^\\/]*\\[^\\/]/.test(path) ? 'windows' : undefined
}

/** Full paths as an example shows them. */
export const examplePaths = { windows: 'C:\\Fleet\\fleet.tareline', other: '/srv/fleet/fleet.tareline' } as const

/**
 * What stands against a path that a person gave, as the end of the sentence "… is not accepted."; undefined: nothing.
 */
export function pathComplaint(path: string): string | undefined {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  if (/[\u0000-\u001f\u007f]/.test(path)) return phrase('A path without control characters is accepted')
  const system = systemOf(path)
  if (!system)
    return phrase('A full path is accepted, such as {windows} or {other}', {
      windows: examplePaths.windows,
      other: examplePaths.other,
    })
  const names = path.split(system === 'windows' ? /[\\/]/ : '/')
  if (names.some((name) => name === '..' || name === '.')) return phrase('A full path without . or .. is accepted')
  if (names.some((name) => utf8Bytes(name) > longestName))
    return phrase('A path whose names have at most {most} bytes each is accepted', { most: longestName })
  if (system === 'windows' && names.some((name) => windowsDevice.test(name.trim())))
    return phrase('A path that names no device of Windows is accepted')
  // Windows passes over dots and blanks at the end of a name, and each of these spells a path that others do not have.
  if (system === 'windows' && names.some((name) => /[. ]$/.test(name)))
    return phrase('A path whose names end in neither a dot nor a blank is accepted')
  if (system === 'windows' && path.slice(2).includes(':'))
    return phrase('A path with a colon only after its drive is accepted')
  if (system === 'other' && /^\/+(?:dev|proc|sys)(?:\/|$)/.test(path))
    return phrase('A path that names no device of the system is accepted')
  return undefined
}

/** A file or folder of this computer, by its full path, as a person names it in a window. */
export const typedPath = z
  .string()
  .trim()
  .min(1)
  .max(4096)
  .superRefine((path, context) => {
    const complaint = pathComplaint(path)
    if (complaint !== undefined) context.addIssue({ code: 'custom', message: complaint })
  })
  .meta({ format: 'path' })
