import { phrase } from '#core/words/phrase.ts'

/** How a system or browser is told to trust the authority of a fleet's house. */
export interface TrustSteps {
  readonly system: string
  readonly steps: readonly string[]
}

/** What to do with the authority's file on each kind of desk, in the order in which it is done there. */
export const trustSteps = (): readonly TrustSteps[] => [
  {
    system: 'Windows',
    steps: [
      phrase('Download the file and open it.'),
      phrase('Choose “Install Certificate”, then “Current User”.'),
      phrase('Choose “Place all certificates in the following store”, then “Trusted Root Certification Authorities”.'),
      phrase('Say yes when Windows asks. Start the browser again.'),
    ],
  },
  {
    system: 'macOS',
    steps: [
      phrase('Download the file and open it: Keychain Access takes it into the keychain “login”.'),
      phrase('Open it there, unfold “Trust”, and set “When using this certificate” to “Always Trust”.'),
      phrase('Close the window and give your password.'),
    ],
  },
  {
    system: 'iPhone and iPad',
    steps: [
      phrase('Download the file with Safari and allow the profile.'),
      phrase('Open Settings, General, “VPN & Device Management”, choose the profile and install it.'),
      phrase('Open Settings, General, About, “Certificate Trust Settings”, and switch the authority on.'),
    ],
  },
  {
    system: 'Android',
    steps: [
      phrase('Download the file.'),
      phrase('Open Settings and search for “CA certificate”; choose it under “Install a certificate”.'),
      phrase('Read the warning, say “Install anyway”, and pick the file.'),
    ],
  },
  {
    system: 'Linux',
    steps: [
      phrase('Download the file.'),
      phrase(
        'For Chromium and its kin: open Settings, “Privacy and security”, “Manage certificates”, “Local certificates”, and import the file as trusted.',
      ),
      phrase(
        'For the whole system, on Debian and its kin: put it into /usr/local/share/ca-certificates and run update-ca-certificates as root.',
      ),
    ],
  },
  {
    system: phrase('Firefox, on any system'),
    steps: [
      phrase('Download the file.'),
      phrase('Open Settings, “Privacy & Security”, “View Certificates”, “Authorities”, and choose “Import”.'),
      phrase('Check “Trust this CA to identify websites”.'),
    ],
  },
]

/** What a person compares before trusting anything that came over the network. */
export const compareFirst = (): string =>
  phrase(
    'Compare this figure with the one that the house machine shows. If they differ, do not go on: somebody else may be answering in its place.',
  )
