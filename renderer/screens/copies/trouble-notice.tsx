import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import type { CopiesList, CopyRow } from '#core/contracts/copies.ts'
import { api } from '#renderer/client/api.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { type CopyCheck, countText, fileName } from './copy-checks.ts'

type Trouble = NonNullable<CopiesList['trouble']>

/** Whether the file is as it should be, and only cannot be written to: then it can be looked at. */
export const isToLook = ({ code }: Trouble): boolean => code === 'read-only' || code === 'disk-full'

function titleOf({ code }: Trouble, file: string): string {
  const name = fileName(file)
  if (code === 'read-only') return phrase('{name} can only be looked at', { name })
  if (code === 'disk-full') return phrase('The disk of {name} is full', { name })
  if (code === 'lost') return phrase('{name} is no longer there', { name })
  return code === 'damaged' || code === 'not-a-database'
    ? phrase('{name} is damaged', { name })
    : phrase('{name} could not be opened', { name })
}

/** The copy that is offered: the newest that is known to be whole; undefined while that is being found out. */
function offered(copies: readonly CopyRow[], checkOf: (name: string) => CopyCheck): CopyRow | null | undefined {
  for (const copy of copies) {
    const check = checkOf(copy.name)
    if (check === undefined || check === 'checking') return undefined
    if (check.sound) return copy
  }
  return null
}

function Offer({
  copies,
  checkOf,
  onRestore,
}: {
  copies: readonly CopyRow[]
  checkOf: (name: string) => CopyCheck
  onRestore: (copy: CopyRow) => void
}) {
  const { times } = useMeasures()
  const copy = offered(copies, checkOf)
  if (copies.length === 0)
    return <p>{phrase('No copy of it is kept here. If one lies on another disk, name it below.')}</p>
  if (copy === undefined)
    return (
      <output>{phrase('Looking for the newest whole copy among {copies}…', { copies: count(copies.length) })}</output>
    )
  if (copy === null)
    return (
      <p>
        {phrase('None of its {copies} copies is whole. If one lies on another disk, name it below.', {
          copies: count(copies.length),
        })}
      </p>
    )
  return (
    <>
      <p>
        <Phrase
          text="<strong>Newest whole copy: {madeAt}.</strong> {units} units, {tickets} tickets, {readings} readings, {calibrations} calibrations; last change {lastChangeAt}."
          with={{
            strong: (words) => <strong>{words}</strong>,
            madeAt: times.moment(copy.madeAt),
            units: countText(copy.units),
            tickets: countText(copy.tickets),
            readings: countText(copy.readings),
            calibrations: countText(copy.calibrations),
            lastChangeAt: copy.lastChangeAt === null ? phrase('unknown') : times.moment(copy.lastChangeAt),
          }}
        />
      </p>
      <div className="notice-actions">
        <Button variant="filled" size="sm" aria-haspopup="dialog" onClick={() => onRestore(copy)}>
          {phrase('Restore this copy…')}
        </Button>
      </div>
    </>
  )
}

/** Opens the file as it is now, so that nothing of it can be changed. */
function LookAtIt({ file }: { file: string }) {
  const look = useMutation(api.file.look.mutationOptions())
  return (
    <>
      <div className="notice-actions">
        <Button variant="filled" size="sm" loading={look.isPending} onClick={() => look.mutate({ path: file })}>
          {phrase('Look at it')}
        </Button>
      </div>
      {look.isError && <ProblemNotice title={phrase('It could not be opened to look at')} error={look.error} />}
    </>
  )
}

/** No fleet file is open: why, and the copy, or the look, that ends the trouble. */
export function TroubleNotice({
  trouble,
  list,
  checkOf,
  onRestore,
}: {
  trouble: Trouble
  list: CopiesList
  checkOf: (name: string) => CopyCheck
  onRestore: (copy: CopyRow) => void
}) {
  return (
    <Notice kind="problem" title={titleOf(trouble, list.file)}>
      <p>{trouble.message}</p>
      {isToLook(trouble) ? (
        <LookAtIt file={list.file} />
      ) : (
        <Offer copies={list.copies} checkOf={checkOf} onRestore={onRestore} />
      )}
    </Notice>
  )
}

/** The other ways on while no fleet file is open. */
export function OtherWays({ file, trouble }: { file: string; trouble: Trouble }) {
  const again = useMutation(api.file.open.mutationOptions())
  const demo = useMutation(api.file.openDemo.mutationOptions())
  const empty = useMutation(api.copies.startEmpty.mutationOptions())
  const failed = [again, demo, empty].find(({ isError }) => isError)
  return (
    <Section className="section" title={phrase('Other ways on')}>
      <div className="notice-actions">
        <Button loading={again.isPending} onClick={() => again.mutate({ path: file })}>
          {phrase('Open {file} again', { file: fileName(file) })}
        </Button>
        <Button loading={demo.isPending} onClick={() => demo.mutate(undefined)}>
          {phrase('Open the demo fleet')}
        </Button>
        {!isToLook(trouble) && (
          <Button loading={empty.isPending} onClick={() => empty.mutate(undefined)}>
            {phrase('Set it aside and start an empty file')}
          </Button>
        )}
      </div>
      {failed && <ProblemNotice title={phrase('That did not work')} error={failed.error} />}
    </Section>
  )
}
