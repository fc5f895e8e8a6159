import { phrase } from '#core/words/phrase.ts'
import { X509Certificate, createPrivateKey } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, readdirSync, renameSync, statSync, writeFileSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { dayMs } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type KeyedCertificate, makeAuthority, makeLeaf, speaksFor } from '#electron/house/authority.ts'
import type { OwnNames } from '#electron/house/own-names.ts'

/** What a house shows its desks to prove who it is. */
export interface Shown extends KeyedCertificate {
  /** SHA-256 of the certificate, as browsers show it. */
  readonly fingerprint: string
  /** ms UTC */
  readonly endsAt: number
  /** The authority that desks are to trust for it, as PEM text; null where the fleet brought its own certificate. */
  readonly authority: { readonly certificate: string; readonly fingerprint: string } | null
}

/** Where a house's certificate comes from. */
export interface Certificates {
  /**
   * The certificate for these names as of now, made or read anew where that is due; the same object as before where it
   * is not. Errors: TarelineError `certificate`, with what is wrong with it.
   */
  current(own: OwnNames, now: number): Promise<Shown>
}

/** The folder beside a fleet file that holds its house's keys, which no copy or export takes along. */
export const houseFolder = (file: string): string => join(dirname(file), `${basename(file)} house`)

/** So long before its end a certificate is made anew. */
const renewMs = 30 * dayMs

const endOf = (certificate: X509Certificate): number => certificate.validToDate.getTime()
const beginOf = (certificate: X509Certificate): number => certificate.validFromDate.getTime()

/** Writes a file that its user alone may read, whole or not at all. */
function writePrivate(path: string, text: string): void {
  const unfinished = `${path}.unfinished`
  writeFileSync(unfinished, text, { mode: 0o600, flush: true })
  renameSync(unfinished, path)
}

function readPair(folder: string, name: string): KeyedCertificate | undefined {
  const [certificate, key] = [join(folder, `${name}.crt`), join(folder, `${name}.key`)]
  if (!existsSync(certificate) || !existsSync(key)) return undefined
  return { certificate: readFileSync(certificate, 'utf8'), key: readFileSync(key, 'utf8') }
}

/** The key first: a certificate that is there has its key. */
function writePair(folder: string, name: string, { certificate, key }: KeyedCertificate): void {
  writePrivate(join(folder, `${name}.key`), key)
  writePrivate(join(folder, `${name}.crt`), certificate)
}

const names = (certificate: X509Certificate, { names: hosts, addresses }: OwnNames): boolean =>
  hosts.every((name) => certificate.checkHost(name) !== undefined) &&
  addresses.every((address) => certificate.checkIP(address) !== undefined)

function shownWith(pair: KeyedCertificate, authority: string | null): Shown {
  const leaf = new X509Certificate(pair.certificate)
  return {
    ...pair,
    fingerprint: leaf.fingerprint256,
    endsAt: endOf(leaf),
    authority:
      authority === null
        ? null
        : { certificate: authority, fingerprint: new X509Certificate(authority).fingerprint256 },
  }
}

/** Why a leaf must be made anew; one of another authority, or with another key, is of no use. */
function isDue(pair: KeyedCertificate, authority: X509Certificate, own: OwnNames, now: number): boolean {
  const leaf = new X509Certificate(pair.certificate)
  return (
    endOf(leaf) - renewMs < now ||
    !leaf.checkIssued(authority) ||
    !leaf.verify(authority.publicKey) ||
    !leaf.checkPrivateKey(createPrivateKey(pair.key)) ||
    !names(leaf, own)
  )
}

async function readAuthority(folder: string, own: OwnNames, now: number): Promise<KeyedCertificate> {
  const found = readPair(folder, 'authority')
  if (!found) {
    const made = await makeAuthority(own, now)
    writePair(folder, 'authority', made)
    return made
  }
  const certificate = new X509Certificate(found.certificate)
  const another = phrase(
    'Or remove the folder {folder} to have another one made, and hand its new file to every desk.',
    { folder },
  )
  if (!certificate.checkPrivateKey(createPrivateKey(found.key)))
    throw new TarelineError(
      'certificate',
      phrase("The key of this house's authority is not that of its certificate. Put it back. {another}", { another }),
    )
  if (!speaksFor(found.certificate, own))
    throw new TarelineError(
      'certificate',
      phrase("This house's authority was made for another name than {name}. Give that name with --name. {another}", {
        name: own.names[0],
        another,
      }),
    )
  if (endOf(certificate) < now)
    throw new TarelineError(
      'certificate',
      phrase("This house's authority has ended. Check this machine's clock. {another}", { another }),
    )
  return found
}

/**
 * Certificates of the fleet's own authority, which is made once and kept beside the fleet file: a leaf is made anew in
 * time and whenever the machine's names have changed.
 */
export function ownCertificates(folder: string): Certificates {
  let shown: Shown | undefined
  const make = async (own: OwnNames, now: number): Promise<Shown> => {
    mkdirSync(folder, { recursive: true, mode: 0o700 })
    const authority = await readAuthority(folder, own, now)
    const issuer = new X509Certificate(authority.certificate)
    const kept = readPair(folder, 'house')
    if (kept && !isDue(kept, issuer, own, now)) return shownWith(kept, authority.certificate)
    const made = await makeLeaf(authority, own, now)
    writePair(folder, 'house', made)
    return shownWith(made, authority.certificate)
  }
  return {
    current: async (own, now) => {
      if (shown?.authority && !isDue(shown, new X509Certificate(shown.authority.certificate), own, now)) return shown
      shown = await make(own, now)
      return shown
    },
  }
}

const mostPemBytes = 64 * 1024
const blocks = (text: string, kind: RegExp): string[] =>
  (text.match(/-----BEGIN ([A-Z0-9 ]+)-----[\s\S]+?-----END \1-----/g) ?? []).filter((block) => kind.test(block))

/** The PEM texts of a folder, sorted by name. */
function readTexts(folder: string): string[] {
  try {
    return readdirSync(folder)
      .toSorted()
      .map((name) => join(folder, name))
      .filter((path) => {
        const found = statSync(path)
        return found.isFile() && found.size <= mostPemBytes
      })
      .map((path) => readFileSync(path, 'utf8'))
  } catch (error) {
    throw new TarelineError(
      'certificate',
      `The folder ${folder} cannot be read. The folder that holds the certificate and its key is needed.`,
      { cause: error },
    )
  }
}

function readKeyIn(texts: readonly string[], folder: string): string {
  const keys = [...new Set(texts.flatMap((text) => blocks(text, /^-----BEGIN (?:[A-Z]+ )?PRIVATE KEY-----/)))]
  const [key] = keys
  if (key !== undefined && keys.length === 1 && !/ENCRYPTED/.test(key)) return key
  throw new TarelineError(
    'certificate',
    `${folder} holds ${keys.length === 0 ? 'no private key that can be read' : `${keys.length} private keys`}. ` +
      'One is needed, in PEM form and without a password, beside its certificate.',
  )
}

function parse(text: string, folder: string): X509Certificate {
  try {
    return new X509Certificate(text)
  } catch (error) {
    throw new TarelineError('certificate', `A certificate in ${folder} cannot be read. PEM form is accepted.`, {
      cause: error,
    })
  }
}

/** A certificate that the fleet brought itself: the one in the folder that belongs to its key, with its chain. */
function readGiven(folder: string, { names: [name = ''] }: OwnNames, now: number): Shown {
  const texts = readTexts(folder)
  const keyText = readKeyIn(texts, folder)
  const key = createPrivateKey(keyText)
  const chains = texts
    .map((text) => blocks(text, /^-----BEGIN CERTIFICATE-----/))
    .filter(([first]) => first !== undefined && parse(first, folder).checkPrivateKey(key))
    // Of the certificate alone and of the file with its chain, the chain.
    .toSorted((a, b) => b.length - a.length)
  const [chain] = chains
  if (!chain)
    throw new TarelineError(
      'certificate',
      `No certificate in ${folder} belongs to the private key there. Put the two that were made together into it.`,
    )
  const certificate = `${chain.join('\n')}\n`
  const leaf = parse(certificate, folder)
  const day = (ms: number) => new Date(ms).toUTCString().slice(5, 16)
  if (endOf(leaf) <= now)
    throw new TarelineError(
      'certificate',
      `The certificate in ${folder} ended on ${day(endOf(leaf))}. Put one that is valid today into the folder.`,
    )
  if (beginOf(leaf) > now)
    throw new TarelineError(
      'certificate',
      `The certificate in ${folder} is valid only from ${day(beginOf(leaf))} on. Check this machine's clock.`,
    )
  if (leaf.checkHost(name) === undefined)
    throw new TarelineError(
      'certificate',
      `The certificate in ${folder} is not for ${name}, but for ${leaf.subjectAltName ?? leaf.subject}. ` +
        'Give the name that it is for with --name.',
    )
  return shownWith({ certificate, key: keyText }, null)
}

/** The fleet's own certificate, looked at again each time, since whoever renews it lays the new one over the old. */
export function givenCertificates(folder: string): Certificates {
  let shown: Shown | undefined
  return {
    current: async (own, now) => {
      const found = readGiven(folder, own, now)
      if (shown?.certificate !== found.certificate || shown.key !== found.key) shown = found
      return shown
    },
  }
}
