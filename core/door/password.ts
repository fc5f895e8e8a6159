import { type ScryptOptions, randomBytes, scrypt, timingSafeEqual } from 'node:crypto'
import { passwordText } from '#core/people/password-rule.ts'

/** Cost, block size and parallelization of scrypt (RFC 7914), as OWASP's sheet on storing passwords names them. */
const usual = { log2N: 15, r: 8, p: 3 } as const
const saltBytes = 16
const hashBytes = 32

interface Parameters {
  readonly log2N: number
  readonly r: number
  readonly p: number
}

/** So many are worked out at once: each takes 32 MB and a thread of the four that also read files. */
const mostAtOnce = 2
/** So many may wait for their turn; whoever comes after is asked to come again. */
const mostWaiting = 30

let working = 0
const waiting: (() => void)[] = []

/** Whether another password can be looked at just now. */
export const isTooBusy = (): boolean => waiting.length >= mostWaiting

async function inTurn<T>(work: () => Promise<T>): Promise<T> {
  if (working >= mostAtOnce) await new Promise<void>((go) => waiting.push(go))
  else working += 1
  try {
    return await work()
  } finally {
    // Whoever waits takes the place over.
    const next = waiting.shift()
    if (next) next()
    else working -= 1
  }
}

const derive = (password: string, salt: Buffer, bytes: number, { log2N, r, p }: Parameters): Promise<Buffer> => {
  const N = 2 ** log2N
  const options: ScryptOptions = { N, r, p, maxmem: 128 * r * (N + p) + 1024 * 1024 }
  return inTurn(
    () =>
      new Promise<Buffer>((done, fail) => {
        scrypt(passwordText(password), salt, bytes, options, (error, key) => (error ? fail(error) : done(key)))
      }),
  )
}

/** A password as it is stored: `scrypt$15$8$3$SALT$HASH`, worked out beside the service's thread. */
export async function hashPassword(password: string): Promise<string> {
  const salt = randomBytes(saltBytes)
  const hash = await derive(password, salt, hashBytes, usual)
  return ['scrypt', usual.log2N, usual.r, usual.p, salt.toString('base64url'), hash.toString('base64url')].join('$')
}

const shape = /^scrypt\$(\d{1,2})\$(\d{1,2})\$(\d{1,2})\$([\w-]+)\$([\w-]+)$/

/** Stands in for the password of a name that nobody has, so that the answer takes as long. */
const nobodys = `scrypt$${usual.log2N}$${usual.r}$${usual.p}$${'A'.repeat(22)}$${'A'.repeat(43)}`

/** Whether a password is the stored one; null: there is none, which takes as long to say. */
export async function isPassword(typed: string, stored: string | null): Promise<boolean> {
  const [, log2N, r, p, salt, hash] = shape.exec(stored ?? nobodys) ?? []
  if (salt === undefined || hash === undefined) throw new RangeError('a stored password is in no known form')
  const kept = Buffer.from(hash, 'base64url')
  const made = await derive(typed, Buffer.from(salt, 'base64url'), kept.length, {
    log2N: Number(log2N),
    r: Number(r),
    p: Number(p),
  })
  return timingSafeEqual(made, kept) && stored !== null
}
