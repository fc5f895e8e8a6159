import { type CDPSession, chromium, expect, test } from '@playwright/test'
import { chromiumArguments, findChromium } from '#tests/screens/chromium.ts'
import { startHouse } from '#tests/screens/house.ts'
import { violations } from '#tests/screens/violations.ts'

const password = 'four words in a row'

/**
 * A device that holds passkeys and asks for a finger, which it is given; isThere: whether the finger is the right one.
 */
async function fingerReader(session: CDPSession) {
  await session.send('WebAuthn.enable')
  const { authenticatorId } = await session.send('WebAuthn.addVirtualAuthenticator', {
    options: {
      protocol: 'ctap2',
      transport: 'internal',
      hasResidentKey: true,
      hasUserVerification: true,
      isUserVerified: true,
      automaticPresenceSimulation: true,
    },
  })
  return {
    finger: (isRight: boolean) =>
      session.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified: isRight }),
  }
}

test('a driver makes a passkey, signs in by it alone, and not with a wrong finger or once it is removed', async () => {
  test.setTimeout(240_000)
  const house = await startHouse()
  const browser = await chromium.launch({
    executablePath: findChromium(),
    args: [...chromiumArguments, '--ignore-certificate-errors'],
  })
  try {
    const page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage()
    const { finger } = await fingerReader(await page.context().newCDPSession(page))
    // A passkey goes by a name.
    const origin = `https://localhost:${new URL(house.origin).port}`
    const { token } = await house.here.people.invite({ name: 'Lou Hart', role: 'driver', units: ['T-101'] })
    await page.goto(`${origin}/#/welcome/${token}`)
    await page.getByLabel('Password', { exact: true }).fill(password)
    await page.getByLabel('The same once more').fill(password)
    await page.getByRole('button', { name: 'Keep it and sign in' }).click()
    const chip = page.getByRole('button', { name: 'Signed in: Lou Hart · driver' })
    const openChip = async () => await chip.click()
    await openChip()
    await page.getByRole('button', { name: 'Make a passkey on this device…' }).click()
    await expect(page.getByText('Passkey for localhost, made')).toBeVisible()
    expect(await violations(page, '[role="dialog"]')).toEqual([])
    await page.getByRole('button', { name: 'Sign out' }).click()

    const byPasskey = page.getByRole('button', { name: 'Sign in with a passkey' })
    await finger(false)
    await byPasskey.click()
    await expect(page.getByText('No passkey was used: it was put off, or it took too long.')).toBeVisible()
    await finger(true)
    const sent = page.waitForRequest('**/rpc/people/signInByPasskey')
    await byPasskey.click()
    await expect(chip).toBeVisible()
    // An answer is good once: whoever has listened gets in by it no more.
    const again = await page.evaluate(async (body) => {
      const { status } = await fetch('/rpc/people/signInByPasskey', {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body,
      })
      return status
    }, (await sent).postData())
    expect(again).toBe(422)

    await openChip()
    await expect(page.getByText(/Passkey for localhost, made .*, used /)).toBeVisible()
    await page.getByRole('button', { name: 'Remove the passkey for localhost' }).click()
    await expect(page.getByText('Passkey for localhost')).toHaveCount(0)
    await page.getByRole('button', { name: 'Sign out' }).click()
    await byPasskey.click()
    await expect(page.getByText('This passkey does not open this house. Sign in with your password.')).toBeVisible()
    const told = (await house.here.people.log({})).rows.map(({ what }) => what)
    expect(told).toContain('Lou Hart signed in with a passkey.')
    expect(told).toContain('Lou Hart removed a passkey for localhost.')

    // Opened by a number, the house offers none.
    await page.goto(house.origin)
    await expect(page.getByRole('heading', { name: 'Sign in' })).toBeVisible()
    await expect(byPasskey).toHaveCount(0)
  } finally {
    await browser.close()
    await house.stop()
  }
})
