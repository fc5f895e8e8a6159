import { X509Certificate } from 'node:crypto'
import { cpSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { type Server, connect, createServer } from 'node:tls'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { dayMs } from '#core/words/instant.ts'
import { makeAuthority, makeLeaf } from '#electron/house/authority.ts'
import { type Shown, givenCertificates, ownCertificates } from '#electron/house/certificates.ts'
import { type OwnNames, houseName, hostsOf, ownNames } from '#electron/house/own-names.ts'

const own: OwnNames = {
  names: ['yard-office', 'yard-office.local', 'localhost'],
  addresses: ['192.168.7.20', '127.0.0.1', '::1'],
}
// TLS asks the system's clock, which the suite's own does not move.
const now = Date.now()
let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-test-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const listening = (server: Server): Promise<number> =>
  new Promise((resolve) => {
    server.listen(0, '127.0.0.1', () => resolve((server.address() as AddressInfo).port))
  })

/** What a client that trusts only this authority makes of a server with the certificate, asked by a name. */
async function meet({ certificate, key }: { certificate: string; key: string }, authority: string, name: string) {
  const server = createServer({ cert: certificate, key })
  server.on('tlsClientError', () => undefined)
  const port = await listening(server)
  try {
    return await new Promise<string>((resolve) => {
      const socket = connect({
        host: '127.0.0.1',
        port,
        ca: authority,
        servername: /[:\d]$/.test(name) ? '' : name,
        checkServerIdentity: (_, cert) => {
          const found = new X509Certificate(cert.raw)
          return (/^[\d.:]+$/.test(name) ? found.checkIP(name) : found.checkHost(name)) === undefined
            ? new Error('not its name')
            : undefined
        },
      })
      socket.once('secureConnect', () => {
        resolve('trusted')
        socket.destroy()
      })
      socket.once('error', (error: NodeJS.ErrnoException) => resolve(error.code ?? error.message))
    })
  } finally {
    server.close()
  }
}

describe('the house’s own authority', () => {
  it('is trusted by a client that trusts nothing else, by every name and address, and by no other name', async () => {
    const { authority, ...shown } = await ownCertificates(folder).current(own, now)
    const ca = authority?.certificate ?? ''
    for (const name of [...own.names, ...own.addresses])
      expect([name, await meet(shown, ca, name)]).toEqual([name, 'trusted'])
    expect(await meet(shown, ca, 'example.com')).toBe('not its name')
    const other = await ownCertificates(join(folder, 'other')).current(own, now)
    expect(await meet(shown, other.authority?.certificate ?? '', 'yard-office')).toMatch(/UNABLE|SELF_SIGNED|SIGNATURE/)
  })

  it('may make no other authority, and speaks for no name and network but its own', async () => {
    const authority = await makeAuthority(own, now)
    const strangers: OwnNames[] = [
      { names: ['example.com'], addresses: [] },
      { names: ['yard-office'], addresses: ['203.0.113.9'] },
      { names: ['other.local'], addresses: [] },
    ]
    for (const stranger of strangers) {
      const leaf = await makeLeaf(authority, stranger, now)
      // Node has no word of its own for X509_V_ERR_PERMITTED_VIOLATION.
      expect(await meet(leaf, authority.certificate, stranger.names[0] ?? '')).toBe('UNSPECIFIED')
    }
    const certificate = new X509Certificate(authority.certificate)
    expect(certificate.ca).toBe(true)
    expect(certificate.publicKey.asymmetricKeyDetails).toEqual({ namedCurve: 'prime256v1' })
    const leaf = await makeLeaf(authority, own, now)
    expect(new X509Certificate(leaf.certificate)).toMatchObject({ ca: false, keyUsage: ['1.3.6.1.5.5.7.3.1'] })
    // A leaf that passes itself off as an authority is believed by nobody.
    const second = await makeLeaf(leaf, own, now)
    expect(
      await meet(
        { ...second, certificate: second.certificate + leaf.certificate },
        authority.certificate,
        'yard-office',
      ),
    ).not.toBe('trusted')
  })

  it('is made once; a certificate is made anew before it ends, and when the machine’s addresses change', async () => {
    const first = await ownCertificates(folder).current(own, now)
    const life = (shown: Shown) => {
      const { validFromDate, validToDate } = new X509Certificate(shown.certificate)
      return (validToDate.getTime() - validFromDate.getTime()) / dayMs
    }
    expect(life(first)).toBeLessThanOrEqual(397)
    const again = ownCertificates(folder)
    expect(await again.current(own, now)).toEqual(first)
    expect(await again.current(own, now + 300 * dayMs)).toEqual(first)
    const late = await again.current(own, now + 370 * dayMs)
    expect(late.fingerprint).not.toBe(first.fingerprint)
    expect(late.authority).toEqual(first.authority)
    expect(await again.current(own, now + 370 * dayMs)).toBe(late)
    const moved = { ...own, addresses: [...own.addresses, '10.1.2.3'] }
    const anew = await again.current(moved, now)
    expect(anew.authority).toEqual(first.authority)
    expect(await meet(anew, anew.authority?.certificate ?? '', '10.1.2.3')).toBe('trusted')
    expect(await ownCertificates(folder).current(moved, now)).toEqual(anew)
  })

  it('has keys that only its user may read', async () => {
    await ownCertificates(join(folder, 'keys')).current(own, now)
    expect(readdirSync(join(folder, 'keys')).sort()).toEqual([
      'authority.crt',
      'authority.key',
      'house.crt',
      'house.key',
    ])
    if (process.platform === 'win32') return
    expect(statSync(join(folder, 'keys')).mode & 0o777).toBe(0o700)
    for (const name of readdirSync(join(folder, 'keys')))
      expect([name, statSync(join(folder, 'keys', name)).mode & 0o777]).toEqual([name, 0o600])
  })

  it('that has ended, was made for another name, or whose key is another’s, is told', async () => {
    await ownCertificates(folder).current(own, now)
    await expect(ownCertificates(folder).current(own, now + 3651 * dayMs)).rejects.toThrow('authority has ended')
    await expect(ownCertificates(folder).current({ ...own, names: ['gate', 'gate.local'] }, now)).rejects.toThrow(
      'made for another name than gate',
    )
    const other = join(folder, 'other')
    await ownCertificates(other).current(own, now)
    cpSync(join(other, 'authority.key'), join(folder, 'authority.key'))
    await expect(ownCertificates(folder).current(own, now)).rejects.toThrow('not that of its certificate')
  })
})

describe('a certificate that the fleet brings', () => {
  const bring = async (at: number, names = own) => {
    const authority = await makeAuthority(names, at)
    const leaf = await makeLeaf(authority, names, at)
    writeFileSync(join(folder, 'fullchain.pem'), leaf.certificate + authority.certificate)
    writeFileSync(join(folder, 'cert.pem'), leaf.certificate)
    writeFileSync(join(folder, 'privkey.pem'), leaf.key)
    return leaf
  }

  it('is found by its key, with its chain, and read again when it has been renewed', async () => {
    const given = givenCertificates(folder)
    await bring(now)
    const shown = await given.current(own, now)
    expect(shown.certificate.match(/BEGIN CERT/g)).toHaveLength(2)
    expect(shown.authority).toBeNull()
    expect(await given.current(own, now)).toBe(shown)
    const next = await bring(now)
    expect((await given.current(own, now)).fingerprint).toBe(new X509Certificate(next.certificate).fingerprint256)
  })

  it('is refused with a sentence when it has ended, is for another name or has no key of its own', async () => {
    const current = (at = now, names = own) => givenCertificates(folder).current(names, at)
    await expect(givenCertificates(join(folder, 'none')).current(own, now)).rejects.toThrow('cannot be read')
    await expect(current()).rejects.toThrow('no private key')
    const leaf = await bring(now)
    await expect(current(now + 400 * dayMs)).rejects.toThrow('ended on')
    await expect(current(now - 30 * dayMs)).rejects.toThrow('valid only from')
    await expect(current(now, { ...own, names: ['elsewhere'] })).rejects.toThrow('is not for elsewhere')
    mkdirSync(join(folder, 'ignored'))
    writeFileSync(join(folder, 'second.key'), (await makeLeaf(await makeAuthority(own, now), own, now)).key)
    await expect(current()).rejects.toThrow('2 private keys')
    writeFileSync(join(folder, 'privkey.pem'), readFileSync(join(folder, 'second.key')))
    await expect(current()).rejects.toThrow('belongs to the private key')
    rmSync(join(folder, 'second.key'))
    writeFileSync(join(folder, 'privkey.pem'), leaf.key)
    writeFileSync(join(folder, 'fullchain.pem'), '-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n')
    await expect(current()).rejects.toThrow('PEM form')
  })
})

describe('what a house is called', () => {
  it('is the machine’s name or the one that is given, and every address of a network of one’s own', () => {
    expect(houseName(undefined, 'Yard-Office')).toBe('yard-office')
    expect(houseName('fleet.example.com')).toBe('fleet.example.com')
    for (const wrong of ['', 'a b', '-a', 'a_b', '10.0.0.1', `${'a'.repeat(64)}`, 'a..b', 'a/b', 'a:1'])
      expect(() => houseName(wrong)).toThrow('--name')
    expect(() => houseName(undefined, 'my machine')).toThrow('--name')
    const rest = { netmask: '', mac: '', internal: false, cidr: null }
    const found = ownNames('yard-office', {
      lan: [
        { address: '192.168.7.20', family: 'IPv4', ...rest },
        { address: 'fd00::20', family: 'IPv6', scopeid: 0, ...rest },
        { address: 'fe80::1', family: 'IPv6', scopeid: 2, ...rest },
      ],
      wan: [{ address: '203.0.113.9', family: 'IPv4', ...rest }],
    })
    expect(found).toEqual({
      names: ['yard-office', 'yard-office.local', 'localhost'],
      addresses: ['192.168.7.20', 'fd00::20', '127.0.0.1', '::1'],
    })
    expect(hostsOf(found, 443)).toContain('[fd00::20]')
    expect(hostsOf(found, 8443)).toContain('yard-office.local:8443')
  })
})
