/** Sites that the app's screens point to: the law and the standards it works by. */
const knownHosts: ReadonlySet<string> = new Set([
  'uscode.house.gov',
  'www.ecfr.gov',
  'ops.fhwa.dot.gov',
  'www.bipm.org',
  'www.iso.org',
])

/** Whether a link may be opened in the person's browser: https, a known site, its usual port, nobody's name in it. */
export function isKnownLink(address: string): boolean {
  const url = URL.parse(address)
  return (
    url !== null &&
    url.protocol === 'https:' &&
    knownHosts.has(url.hostname) &&
    url.port === '' &&
    url.username === '' &&
    url.password === ''
  )
}
