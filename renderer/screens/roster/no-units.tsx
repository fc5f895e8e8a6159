import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { FirstWeight, NextStepLine, firstStepsOf, nextOf } from '#renderer/parts/first-weight.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { phrase } from '#core/words/phrase.ts'

/** A fleet without units: the way to the first weight, and the two ways to get a whole fleet at once. */
export function NoUnits() {
  const demo = useMutation(api.file.openDemo.mutationOptions())
  const steps = useQuery(api.fleet.firstSteps.queryOptions())
  return (
    <div className="roster-empty">
      <ScreenTitle tab={phrase('Roster')}>{phrase('First weight')}</ScreenTitle>
      <p>
        {phrase(
          'From an empty file to the first weight off a gauge takes six steps. Each is a form that the app has anyway; what is saved stays, and the way goes on from here whenever you come back.',
        )}
      </p>
      <Answer to={steps} waiting={phrase('Looking at the file…')} failed={phrase('The steps could not be read')}>
        {(found) => (
          <>
            <FirstWeight found={found} />
            <div className="roster-ways">
              <Button
                variant="filled"
                size="sm"
                component="a"
                href={nextOf(firstStepsOf(found))?.href ?? hrefOf('fleet')}
              >
                {found.yard || found.scale ? phrase('Go on') : phrase('Start')}
              </Button>
            </div>
          </>
        )}
      </Answer>
      <h2>{phrase('Is there a record already?')}</h2>
      <p>
        {phrase(
          'A fleet folder fills it at once: plain CSV files with units, tickets, readings and calibrations. The demo fleet shows what the screens look like with one.',
        )}
      </p>
      <div className="roster-ways">
        <Button size="sm" component="a" href={hrefOf('folder')}>
          {phrase('Import a fleet folder')}
        </Button>
        <Button size="sm" loading={demo.isPending} onClick={() => demo.mutate(undefined)}>
          {phrase('Open the demo fleet')}
        </Button>
      </div>
      {demo.isError && <ProblemNotice title={phrase('The demo fleet could not be opened')} error={demo.error} />}
    </div>
  )
}

/** The next step to the first weight, while there is none. */
export function FirstLine() {
  const steps = useQuery(api.fleet.firstSteps.queryOptions())
  return <NextStepLine found={steps.data} />
}
