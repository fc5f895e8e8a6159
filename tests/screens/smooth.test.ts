import { join } from 'node:path'
import { largeFleet, writeFleetFolder } from './fleet-folder.ts'
import { expect, test } from './fixtures.ts'
import { RosterPage } from './pages/roster-page.ts'

const units = 10_000
/** Most were never calibrated: their rows are drawn as the others', and are brought in in half the time. */
const fleet = largeFleet(units).map((unit, i) => (i % 8 === 0 ? unit : { ...unit, calibratedDaysAgo: [] }))

test('10,000 units: scrolls, sorts and finds; the longest frame is printed', async ({ emptyApp, page }) => {
  test.setTimeout(300_000)
  await emptyApp.bringIn(writeFleetFolder(join(emptyApp.folder, 'large'), fleet))
  const roster = new RosterPage(page, emptyApp.origin)
  const opened = performance.now()
  await roster.open()
  await roster.units.waitFor({ timeout: 120_000 })
  console.log(
    `first rows of ${units} units after ${Math.round(performance.now() - opened)} ms, the fleet's first judgement included`,
  )
  await page.reload()
  const again = performance.now()
  await roster.units.waitFor()
  console.log(`first rows after a reload ${Math.round(performance.now() - again)} ms`)
  await expect(roster.units).toHaveAttribute('aria-rowcount', String(units + 1))

  const frames = await page.evaluate(async () => {
    const frame = document.querySelector('.line-frame') as HTMLElement
    const gaps: number[] = []
    await new Promise<void>((done) => {
      let last = performance.now()
      let count = 0
      const step = (now: number) => {
        gaps.push(now - last)
        last = now
        count += 1
        // Slow, then in leaps of hundreds of rows, as a dragged scroll bar goes.
        frame.scrollTop += count < 150 ? 90 : 1900
        if (count < 300) requestAnimationFrame(step)
        else done()
      }
      requestAnimationFrame(step)
    })
    return { scrolled: gaps.slice(1, 150), leapt: gaps.slice(150) }
  })
  const tell = (how: string, gaps: readonly number[]) =>
    console.log(
      `${how} through ${units} units: longest frame ${Math.max(...gaps).toFixed(1)} ms, ${gaps.filter((gap) => gap > 50).length} of ${gaps.length} over 50 ms`,
    )
  tell('scrolling, 3 rows a frame,', frames.scrolled)
  tell('leaping, 63 rows a frame,', frames.leapt)
  // Whatever was passed on the way, the rows in sight are drawn once their page has come.
  await expect.poll(async () => (await roster.numbers()).length).toBeGreaterThan(15)

  await roster.units.focus()
  await page.keyboard.press('End')
  await expect(roster.selected()).toHaveAttribute('aria-rowindex', String(units + 1))
  await page.keyboard.press('Home')
  await roster.search('V-19999')
  await expect.poll(() => roster.numbers()).toEqual(['V-19999'])
})
