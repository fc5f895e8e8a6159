import { createHash, randomBytes } from 'node:crypto'

/** Something that opens a door: 32 random bytes, of which only the hash is stored. */
export const newToken = (): string => randomBytes(32).toString('base64url')
export const hashOf = (token: string): string => createHash('sha256').update(token).digest('hex')

const tokenShape = /^[\w-]{43}$/

/** The name of a house's cookie. Cookies know no port: two houses on one machine are kept apart by name. */
export const cookieNameOf = (house: string): string => `__Host-tareline-${house}`

/** What the cookies of a request carry under a name, each once; a neighbor's of the same name may stand before ours. */
export function tokensIn(header: string | undefined, name: string): string[] {
  const tokens = (header ?? '').split(';').flatMap((pair) => {
    const at = pair.indexOf('=')
    const value = pair.slice(at + 1).trim()
    return at > 0 && pair.slice(0, at).trim() === name && tokenShape.test(value) ? [value] : []
  })
  return [...new Set(tokens)].slice(0, 4)
}

const rules = 'Path=/; Secure; HttpOnly; SameSite=Strict'

/**
 * The text of a `Set-Cookie` header. Its prefix has the browser keep it to this very host and to HTTPS (RFC 6265bis).
 */
export const cookieText = (name: string, token: string, seconds: number): string =>
  `${name}=${token}; ${rules}; Max-Age=${seconds}`

/** Takes the cookie away. */
export const noCookieText = (name: string): string => `${name}=; ${rules}; Max-Age=0`
