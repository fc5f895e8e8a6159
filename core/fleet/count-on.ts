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
