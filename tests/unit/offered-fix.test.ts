import { expect, it } from 'vitest'
import { offeredFix } from '#core/findings/offered-fix.ts'
import { saying } from '#core/words/sentences/findings.ts'
import { measuresFor } from '#renderer/parts/format.ts'
import { fixHref, fixIn, fixTexts, fixWords } from '#renderer/parts/offered-fix.ts'

const at = Date.parse('2026-03-01T15:00:00Z')
const place = { unit: 'T-101', group: 'drive', circuit: null, ticketId: 12 }
const us = measuresFor(0, 'UTC')
const metric = measuresFor(1, 'UTC')

/** What comes of an offer that went through an address to its ticket. */
const arrived = (fix: ReturnType<typeof offeredFix>) =>
  fix && fixIn(new URLSearchParams(fixHref(fix).split('?')[1] ?? ''), 12)

it('a transposed weight is offered as it fits, with its reason', () => {
  const fix = offeredFix(saying('digits-transposed', 'ticket', { at, typedLb: 35_670, fitsLb: 35_760 }), place)
  expect(fix && fixWords(fix, us)).toBe('Take 35,760\u00a0lb')
  const ticket = { kind: 'ticket', places: ['T-101 drive'], values: { 'T-101 drive_lb': 35_670 } } as const
  const back = arrived(fix)
  expect(back).toEqual(fix)
  expect(back && fixTexts(back, ticket, us)).toEqual({
    'T-101 drive_lb': '35760',
    $reason: 'Digits transposed: typed as 35,670\u00a0lb',
  })
  expect(back && fixTexts(back, ticket, metric)).toMatchObject({ 'T-101 drive_lb': expect.stringMatching(/^16220/) })
  // Corrected meanwhile: nothing is offered any more.
  expect(back && fixTexts(back, { ...ticket, values: { 'T-101 drive_lb': 35_760 } }, us)).toBeNull()
})

it('swapped weights are swapped back, both of them', () => {
  const fix = offeredFix(saying('groups-swapped', 'ticket', { at, typedLb: 30_000, fitsLb: 33_000 }), place)
  expect(fix && fixWords(fix, us)).toBe('Swap the two weights')
  const back = arrived(fix)
  expect(
    back &&
      fixTexts(
        back,
        {
          kind: 'ticket',
          places: ['T-101 drive', 'V-201 tandem'],
          values: { 'T-101 drive_lb': 30_000, 'V-201 tandem_lb': 33_000 },
        },
        us,
      ),
  ).toEqual({
    'T-101 drive_lb': '33000',
    'V-201 tandem_lb': '30000',
    $reason: 'The weights of T-101 drive and V-201 tandem were swapped',
  })
})

it('pressures in another unit are offered for each circuit of the reading, and for no ticket', () => {
  const fix = offeredFix(saying('wrong-pressure-unit', 'all', { at, typedPsi: 400, fitsPsi: 58, unit: 'kPa' }), place)
  const back = arrived(fix)
  const reading = {
    kind: 'reading',
    places: ['T-101 drive left', 'T-101 drive right', 'T-101 tag main'],
    values: { 'T-101 drive left_psi': 390, 'T-101 drive right_psi': 410, 'T-101 tag main_psi': 20 },
  } as const
  const texts = back && fixTexts(back, reading, us)
  expect(Object.keys(texts ?? {})).toEqual(['T-101 drive left_psi', 'T-101 drive right_psi', '$reason'])
  expect(Number(texts?.['T-101 drive left_psi'])).toBeCloseTo(56.55, 1)
  expect(back && fixTexts(back, { ...reading, kind: 'ticket' }, us)).toBeNull()
})

it('a late mounting leads to its record, and other findings to nothing', () => {
  const fix = offeredFix(
    saying('event-since-calibration', 'mounted late', {
      at,
      serial: 'PA-1',
      readAt: at - 1000,
      circuit: null,
      calibratedAt: at,
    }),
    place,
  )
  expect(fix && fixHref(fix)).toBe('#/record/T-101?mounting=PA-1&since=2026-03-01T14%3A59%3A59.000Z')
  expect(offeredFix(saying('no-calibration', 'never', {}), place)).toBeNull()
})
