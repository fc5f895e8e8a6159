import type { Locator, Page } from '@playwright/test'
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { attachmentPath, attachmentsFolder } from '#core/store/attachments.ts'
import { jpegPhoto, pdfScan, pngOf, pngPicture } from '#tests/store/attachment-samples.ts'
import { expect, test } from './fixtures.ts'
import { EvidenceSheet } from './pages/evidence-sheet.ts'
import { violations } from './violations.ts'

const picked = (name: string, bytes: Uint8Array, mimeType = 'application/octet-stream') => ({
  name,
  mimeType,
  buffer: Buffer.from(bytes),
})
const list = (page: Page) => page.getByRole('list', { name: /^Attachments of ticket/ })
const row = (page: Page, name: string) => list(page).getByRole('listitem').filter({ hasText: name })
const told = (page: Page) => page.getByRole('list', { name: 'What was added' }).getByRole('listitem')

/** Whether the picture was really drawn: a policy that forbids it would leave it without a size. */
const widthOf = (picture: Locator) => picture.evaluate((image) => (image as HTMLImageElement).naturalWidth)

async function tabTo(page: Page, element: Locator): Promise<void> {
  for (let step = 0; step < 80 && !(await element.evaluate((each) => each === document.activeElement)); step += 1)
    await page.keyboard.press('Tab')
  await expect(element).toBeFocused()
}

/** Hands files to the page as the clipboard or a dragging hand does. */
const hand = (page: Page, how: 'paste' | 'drop', name: string, type: string, bytes: Uint8Array) =>
  page.evaluate(
    ([way, fileName, fileType, numbers]) => {
      const files = new DataTransfer()
      files.items.add(new File([Uint8Array.from(numbers)], fileName, { type: fileType }))
      const on = { bubbles: true, cancelable: true }
      if (way === 'drop') document.body.dispatchEvent(new DragEvent('dragover', { ...on, dataTransfer: files }))
      document.body.dispatchEvent(
        way === 'paste'
          ? new ClipboardEvent('paste', { ...on, clipboardData: files })
          : new DragEvent('drop', { ...on, dataTransfer: files }),
      )
    },
    [how, name, type, [...bytes]] as const,
  )

test('scans and photos of a ticket are added, seen, saved and taken off, by keyboard, paste and drop', async ({
  smallApp: app,
  page,
}) => {
  await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
  const complaints: string[] = []
  page.on('console', (message) => {
    if (/content security policy/i.test(message.text())) complaints.push(message.text())
  })
  await new EvidenceSheet(page, app.origin).openTicket('V-201', '6-13')
  await expect(page.getByText('No scan or photo is kept with this ticket yet.')).toBeVisible()

  const add = page.getByRole('button', { name: 'Add a scan or photo…' })
  // Asked for well before the key: nobody waits for the browser to hear that choosers are handed over.
  const choosing = page.waitForEvent('filechooser')
  await tabTo(page, add)
  await page.keyboard.press('Enter')
  await (await choosing).setFiles([
    picked('photo.jpg', jpegPhoto),
    picked('scan.pdf', pdfScan),
    picked('letter.jpg', Buffer.from('Dear driver,')),
  ])
  await expect(told(page)).toHaveText([
    /Added photo\.jpg\./,
    /Added scan\.pdf\./,
    /Not added: letter\.jpg is text; a JPEG or PNG picture or a PDF of 1 byte to 20 MB is accepted\./,
  ])
  await expect(row(page, 'photo.jpg')).toContainText('JPEG, 2 kB')
  await expect(row(page, 'photo.jpg')).toContainText('M. Adair')
  await expect.poll(() => widthOf(row(page, 'photo.jpg').locator('img'))).toBe(96)

  expect(await violations(page)).toEqual([])

  // Half past nine in the evening by the fleet's clocks, the afternoon after by the browser's.
  await page.clock.setFixedTime('2026-07-01T03:30:05Z')
  await hand(page, 'paste', 'image.png', 'image/png', pngPicture)
  await expect(told(page)).toHaveText([/Added pasted 2026-06-30 21\.30\.05\.png/])
  await hand(page, 'drop', 'again.jpg', 'image/jpeg', jpegPhoto)
  await expect(told(page)).toHaveText([/again\.jpg is attached already, as photo\.jpg\./])
  await expect(list(page).getByRole('listitem')).toHaveCount(3)

  // The first picture stands beside the fields by itself, and covers none of them.
  await expect(page.getByRole('region', { name: /^Picture pasted/ })).toBeVisible()
  await tabTo(page, row(page, 'photo.jpg').getByRole('button', { name: 'Show photo.jpg' }))
  await page.keyboard.press('Enter')
  const picture = page
    .getByRole('region', { name: 'Picture photo.jpg' })
    .getByRole('img', { name: 'photo.jpg, attached to ticket 6-13' })
  await expect.poll(() => widthOf(picture)).toBe(96)
  await page.getByRole('button', { name: /^Correct… ticket/ }).click()
  const [photo, field] = await Promise.all(
    [page.getByRole('region', { name: 'Picture photo.jpg' }), page.getByLabel('Gross, lb')].map((each) =>
      each.boundingBox(),
    ),
  )
  expect((field?.x ?? 0) + (field?.width ?? 0)).toBeLessThan(photo?.x ?? 0)
  expect(await violations(page)).toEqual([])
  await page.getByRole('button', { name: 'Cancel' }).click()

  const [saved] = await Promise.all([
    page.waitForEvent('download'),
    row(page, 'scan.pdf').getByRole('button', { name: 'Save scan.pdf' }).press('Enter'),
  ])
  expect([saved.suggestedFilename(), readFileSync(await saved.path()).equals(pdfScan)]).toEqual(['scan.pdf', true])

  await row(page, 'scan.pdf').getByRole('button', { name: 'Remove scan.pdf' }).press('Enter')
  await page.keyboard.type(' ')
  await page.getByRole('dialog').getByRole('button', { name: 'Remove' }).press('Enter')
  await expect(page.getByRole('dialog').getByText('The reason is empty', { exact: false })).toBeVisible()
  await expect(page.getByLabel('Reason')).toBeFocused()
  expect(await violations(page)).toEqual([])
  await page.keyboard.type('of another truck')
  await page.keyboard.press('Tab')
  await page.keyboard.press('Enter')
  await expect(list(page).getByRole('listitem')).toHaveCount(2)
  await expect(page.getByRole('heading', { name: 'Attachments' })).toBeFocused()
  expect((await app.client.log.list({ text: 'another truck' })).rows[0]).toMatchObject({
    subject: 'ticket',
    action: 'attachment taken off',
    by: 'M. Adair',
  })
  expect(complaints).toEqual([])
  expect(await violations(page)).toEqual([])

  const [{ sha256 } = { sha256: '' }] = (
    await app.client.attachment.list({ ticketId: Number(new URL(page.url()).hash.split('/').at(-1)) })
  ).filter(({ name }) => name === 'photo.jpg')
  rmSync(attachmentPath(attachmentsFolder(join(app.folder, 'fleet.tareline')), sha256))
  await page.reload()
  await row(page, 'photo.jpg').getByRole('button', { name: 'Show photo.jpg' }).click()
  await expect(page.getByRole('region', { name: 'Picture photo.jpg' }).getByRole('alert')).toContainText(
    /photo\.jpg cannot be read from the folder “fleet\.tareline files” beside the fleet file\. Restore the newest copy/,
  )

  // Kept before its dots were counted: offered as a file, and drawn neither large nor small.
  const brought = join(app.folder, 'brought')
  mkdirSync(join(brought, 'attachments'), { recursive: true })
  writeFileSync(join(brought, 'attachments/vast.png'), pngOf(16_384, 16_384))
  writeFileSync(join(brought, 'attachments.csv'), 'scale,ticket,file\nMillrace Yard,6-13,attachments/vast.png\n')
  await app.bringIn(brought)
  await page.reload()
  await row(page, 'vast.png').getByRole('button', { name: 'Show vast.png' }).click()
  const vast = page.getByRole('region', { name: 'Picture vast.png' })
  await expect(vast.getByRole('alert')).toContainText('kept and not drawn: it has 16,384 by 16,384 dots')
  await expect(vast.getByRole('img')).toHaveCount(0)
  const [whole] = await Promise.all([
    page.waitForEvent('download'),
    vast.getByRole('button', { name: 'Save a copy' }).click(),
  ])
  expect(whole.suggestedFilename()).toBe('vast.png')
  await expect(row(page, 'vast.png').locator('img')).toHaveCount(0)
})
