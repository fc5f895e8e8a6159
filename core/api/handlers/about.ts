import { release } from 'node:os'
import type { AboutFacts } from '#core/api/about-contract.ts'
import type { Context } from '#core/api/context.ts'
import { procedures } from '#core/api/procedures.ts'
import { inThread } from '#core/exchange/in-thread.ts'
import { dayOf } from '#core/fleet/instant.ts'
import { latestStep, sqliteVersion } from '#core/store/open.ts'

function factsOf({ version, fleet, log }: Context): AboutFacts {
  const {
    node,
    electron = null,
    chrome: chromium = null,
  } = process.versions as NodeJS.ProcessVersions & { readonly electron?: string; readonly chrome?: string }
  return {
    version,
    step: latestStep,
    sqlite: sqliteVersion(),
    node,
    electron,
    chromium,
    system: `${process.platform} ${process.arch} ${release()}`,
    file: fleet.file(),
    logFolder: log.folder,
  }
}

export const aboutHandlers = {
  facts: procedures.about.facts.handler(({ context }) => factsOf(context)),
  supportBundle: procedures.about.supportBundle.handler(async ({ input: { withFleet }, context }) => {
    const { file, logFolder: _, ...facts } = factsOf(context)
    const bytes = await inThread<Uint8Array<ArrayBuffer>>({
      kind: 'support bundle',
      dbFile: file,
      withFleet,
      facts,
      log: context.log.read(),
    })
    return new File([bytes], `tareline-support-${dayOf(Date.now())}.zip`, { type: 'application/zip' })
  }),
}
