import type { OfferedFix } from '#core/findings/offered-fix.ts'
import type { StoredValues } from '#core/words/change.ts'
import { type EvidenceKind, partColumn } from '#core/words/record-fields.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import type { Measures } from '#renderer/parts/format.ts'
import { phrase } from '#core/words/phrase.ts'

/** The way to the form in which a finding's offer stands typed already. */
export function fixHref(fix: OfferedFix): string {
  if (fix.what === 'mounting') return hrefOf('record', fix.unit, { mounting: fix.serial, since: fix.since })
  const { what, place } = fix
  const [typed, fits] = what === 'weight' ? [fix.typedLb, fix.fitsLb] : [fix.typedPsi, fix.fitsPsi]
  return hrefOf('ticket', String(fix.ticketId), {
    fix: what,
    place,
    typed: String(typed),
    fits: String(fits),
    ...(what === 'weight' ? { swapped: fix.isSwapped ? 'yes' : null } : { unit: fix.unit }),
  })
}

/** What the step is called. */
export function fixWords(fix: OfferedFix, { weight, pressure }: Measures): string {
  if (fix.what === 'mounting') return phrase('Correct the date of its mounting')
  if (fix.what === 'pressure') return phrase('Take {fitsPsi}', { fitsPsi: pressure.text(fix.fitsPsi) })
  return fix.isSwapped ? phrase('Swap the two weights') : phrase('Take {fitsLb}', { fitsLb: weight.text(fix.fitsLb) })
}

type TicketFix = Exclude<OfferedFix, { what: 'mounting' }>

/** The offer that an address carries to a ticket; null where it carries none. */
export function fixIn(params: URLSearchParams, ticketId: number): TicketFix | null {
  const place = params.get('place') ?? ''
  const [typed, fits] = [Number(params.get('typed')), Number(params.get('fits'))]
  if (place === '' || !(typed > 0) || !(fits > 0)) return null
  if (params.get('fix') === 'weight')
    return { what: 'weight', ticketId, place, typedLb: typed, fitsLb: fits, isSwapped: params.get('swapped') === 'yes' }
  return params.get('fix') === 'pressure'
    ? { what: 'pressure', ticketId, place, typedPsi: typed, fitsPsi: fits, unit: params.get('unit') ?? '' }
    : null
}

/** An offer as the texts of a correction, its reason filled in; null where it is not about this ticket or reading. */
export function fixTexts(
  fix: TicketFix,
  { kind, places, values }: { kind: EvidenceKind; places: readonly string[]; values: StoredValues },
  { weight, pressure }: Measures,
): Record<string, string> | null {
  const column = partColumn[kind]
  if (fix.what === 'weight') {
    const { place, typedLb, fitsLb, isSwapped } = fix
    if (kind !== 'ticket' || values[column(place)] !== typedLb) return null
    const other = isSwapped ? places.find((each) => values[column(each)] === fitsLb) : undefined
    return {
      [column(place)]: weight.typed(fitsLb),
      ...(other === undefined ? {} : { [column(other)]: weight.typed(typedLb) }),
      $reason:
        other === undefined
          ? phrase('Digits transposed: typed as {typedLb}', { typedLb: weight.text(typedLb) })
          : phrase('The weights of {place} and {other} were swapped', { place, other }),
    }
  }
  const factor = fix.fitsPsi / fix.typedPsi
  const own = places.filter((each) => each === fix.place || each.startsWith(`${fix.place} `))
  const read = own.flatMap((each) => {
    const psi = values[column(each)]
    return typeof psi === 'number' ? [[column(each), psi] as const] : []
  })
  const mean = read.reduce((sum, [, psi]) => sum + psi, 0) / read.length
  if (kind !== 'reading' || read.length === 0 || Math.abs(mean - fix.typedPsi) > 0.05 * fix.typedPsi) return null
  return {
    ...Object.fromEntries(read.map(([name, psi]) => [name, pressure.typed(psi * factor)])),
    $reason: phrase('Typed in another unit: the gauge showed {unit}', { unit: fix.unit }),
  }
}
