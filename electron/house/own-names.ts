import { phrase } from '#core/words/phrase.ts'
import { BlockList, isIPv4 } from 'node:net'
import { type NetworkInterfaceInfo, hostname, networkInterfaces } from 'node:os'
import { TarelineError } from '#core/words/problem.ts'

/**
 * Networks that are nobody's in the internet: private use (RFC 1918, RFC 4193), shared address space (RFC 6598),
 * link-local (RFC 3927) and the machine itself. A house serves these, and its authority speaks for no others.
 */
export const ownNetworks = [
  '10.0.0.0/8',
  '172.16.0.0/12',
  '192.168.0.0/16',
  '100.64.0.0/10',
  '169.254.0.0/16',
  '127.0.0.0/8',
  'fc00::/7',
  '::1/128',
] as const

const ownList = new BlockList()
for (const network of ownNetworks) {
  const [address = '', bits = ''] = network.split('/')
  ownList.addSubnet(address, Number(bits), isIPv4(address) ? 'ipv4' : 'ipv6')
}

/** What a house is called on its network: names first, the one that it was given before the others. */
export interface OwnNames {
  readonly names: readonly string[]
  readonly addresses: readonly string[]
}

const label = '[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?'
const hostPattern = new RegExp(`^${label}(?:\\.${label})*$`)

/**
 * The name that a house is reached by: as given, or this machine's own. Errors: TarelineError `usage` for what is no
 * host name.
 */
export function houseName(given: string | undefined, machine = hostname()): string {
  const name = (given ?? machine).toLowerCase()
  if (name.length <= 253 && hostPattern.test(name) && !/^[\d.]+$/.test(name)) return name
  throw new TarelineError(
    'usage',
    given === undefined
      ? phrase(
          'This machine\'s name, "{name}", cannot be used in an address. Give another one with --name, such as yard-office.',
          { name },
        )
      : phrase(
          '--name is "{given}"; the name of this machine on the network is accepted, such as yard-office or fleet.example.com: letters, digits and hyphens.',
          { given },
        ),
  )
}

/** What this machine is called and where it is reached; interfaces as `networkInterfaces` gives them. */
export function ownNames(
  name: string,
  interfaces: NodeJS.Dict<NetworkInterfaceInfo[]> = networkInterfaces(),
): OwnNames {
  const local = `${name.split('.')[0]}.local`
  const addresses = Object.values(interfaces)
    .flatMap((each) => each ?? [])
    .filter(({ address, family }) => ownList.check(address, family === 'IPv4' ? 'ipv4' : 'ipv6'))
    .map(({ address }) => address)
    .toSorted()
  return {
    names: [...new Set([name, local, 'localhost'])],
    addresses: [...new Set([...addresses, '127.0.0.1', '::1'])],
  }
}

/** As a name or an address stands in an address line. */
const inAddress = (name: string) => (name.includes(':') ? `[${name}]` : name)

/** Each name with its port as a browser sends it: https's own port is left out. */
export const hostsOf = ({ names, addresses }: OwnNames, port: number): string[] =>
  [...names, ...addresses].map((name) => (port === 443 ? inAddress(name) : `${inAddress(name)}:${port}`))

/**
 * The addresses that other machines may try, the surest first: a name with a dot in it is one that all of them ask for
 * by themselves.
 */
export const addressesOf = ({ names, addresses }: OwnNames, port: number): string[] =>
  hostsOf(
    {
      names: names
        .filter((name) => name !== 'localhost')
        .toSorted((a, b) => Number(b.includes('.')) - Number(a.includes('.'))),
      addresses: addresses.filter((address) => address !== '127.0.0.1' && address !== '::1'),
    },
    port,
  ).map((host) => `https://${host}/`)
