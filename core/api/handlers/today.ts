import { basename } from 'node:path'
import { freshJudgements } from '#core/api/freshen.ts'
import { onFleet } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import { sharedAnswer } from '#core/api/shared-answer.ts'
import { sheetHead, spreadsheetFile } from '#core/api/sheet-files.ts'
import { readAllDue, readAllFindings, readToday } from '#core/api/today-view.ts'
import { findingColumns } from '#core/exchange/documents/fleet-sheets.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { todayCalendar, todayPageDefinition } from '#core/exchange/documents/today-page.ts'
import { inFileName } from '#core/words/text.ts'
import { phrase } from '#core/words/phrase.ts'

const nameOf = (day: string, yard: string | null | undefined): string =>
  ['today', ...(yard === undefined ? [] : [inFileName(yard ?? phrase('no yard'))]), day].join('-')

export const todayHandlers = {
  page: procedures.today.page.handler(
    onFleet(async (store, input, { now, report }) => {
      const asOf = await freshJudgements(store, now, report)
      return await sharedAnswer(
        store,
        JSON.stringify(['today', input]),
        async () => (await readToday(store, input, asOf)).page,
      )
    }),
  ),
  pdf: procedures.today.pdf.handler(
    onFleet(async (store, input, { now, report }) => {
      const asOf = await freshJudgements(store, now, report)
      const { page, say } = await readToday(store, input, asOf)
      const head = { yard: input?.yard, file: basename(store.file) }
      return new File([await makePdf(todayPageDefinition(page, head, say))], `${nameOf(page.day, input?.yard)}.pdf`, {
        type: 'application/pdf',
      })
    }),
  ),
  calendar: procedures.today.calendar.handler(
    onFleet(async (store, input, { now, report }) => {
      const asOf = await freshJudgements(store, now, report)
      const due = await readAllDue(store, input, asOf)
      return new File([todayCalendar(due, due.today, now)], `${nameOf(due.today, input?.yard)}.ics`, {
        type: 'text/calendar',
      })
    }),
  ),
  findings: procedures.today.findings.handler(
    onFleet(async (store, input, { now, report }) => {
      const asOf = await freshJudgements(store, now, report)
      const head = await sheetHead(store, phrase('Findings'), asOf, [
        phrase('What somebody has set aside is not among them'),
      ])
      return spreadsheetFile(store, findingColumns, await readAllFindings(store, input), head)
    }),
  ),
}
