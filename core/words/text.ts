import { figures } from '#core/words/numbers.ts'

/**
 * Whether a spreadsheet program could take a text for a formula when it opens a CSV file: also behind blanks, and in
 * the wide letters of East Asian keyboards.
 */
export const beginsAsFormula = (text: string): boolean => /^\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|^[\t\r\n]/.test(text)

/**
 * A text that a spreadsheet program takes for text: one that begins as a formula does gets an apostrophe in front. For
 * files to be read by people. A fleet folder is for bringing in again, where an apostrophe more would be another name:
 * it keeps every text as it is, and whoever writes one out is told of such texts. Source: the OWASP page on CSV
 * injection (from memory).
 */
export const asText = (text: string): string => (beginsAsFormula(text) ? `'${text}` : text)

/**
 * The next free numbers after one, counting on its last digits and keeping their width: T-098 is followed by T-099,
 * then T-100. A number without digits gets them behind a hyphen. At most `count`; those that are taken are passed over.
 */
export function countOn(number: string, count: number, taken: ReadonlySet<string>): string[] {
  const match = /^(.*?)(\d+)(\D*)$/.exec(number)
  const [head, digits, tail] = match ? [match[1] ?? '', match[2] ?? '', match[3] ?? ''] : [`${number}-`, '1', '']
  const next: string[] = []
  // Digits beyond what a double counts exactly are a serial, not a number to count on.
  for (let value = Number(digits) + 1; next.length < count && Number.isSafeInteger(value); value += 1) {
    const candidate = `${head}${String(value).padStart(digits.length, '0')}${tail}`
    if (!taken.has(candidate)) next.push(candidate)
  }
  return next
}

const whole = figures({ maximumFractionDigits: 0 })

/** `1 row`, `1,350 rows`, for commands and other English. */
export const count = (value: number, one: string, many = `${one}s`): string =>
  `${whole(value)} ${value === 1 ? one : many}`

/** First letter large, hyphens as spaces: `age-over-limit` reads `Age over limit`. */
export function sentenceCase(text: string): string {
  const words = text.replaceAll('-', ' ')
  return words.charAt(0).toUpperCase() + words.slice(1)
}

/** What is left of a name in the name of a file. */
export const inFileName = (name: string): string =>
  name
    .normalize('NFKD')
    .replaceAll(/\p{M}/gu, '')
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '-')

const cents = figures({ style: 'currency', currency: 'USD', currencyDisplay: 'narrowSymbol' })
const wholeDollars = figures({
  style: 'currency',
  currency: 'USD',
  currencyDisplay: 'narrowSymbol',
  maximumFractionDigits: 0,
})
/** `$3.20`; from $100 on whole dollars, `$1,350`: what is reckoned is known no closer. */
export const money = (dollars: number): string => (dollars < 100 ? cents : wholeDollars)(dollars)
