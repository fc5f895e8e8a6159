import { Button, Checkbox, TextInput } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { AboutFacts } from '#core/contracts/about.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { count } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { Scrolls, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import './about-screen.css'
import { AllowedFolders } from './allowed-folders.tsx'
import shipped from './shipped-packages.json'

async function readNotices(): Promise<string> {
  const answer = await fetch('/notices.txt')
  if (!answer.ok) throw new Error('The licences’ texts are not part of this copy of Tareline.')
  return await answer.text()
}

/** The texts, fetched when they are asked for. */
function Notices() {
  const notices = useQuery({ queryKey: ['notices'], queryFn: readNotices })
  return (
    <Answer to={notices} waiting={phrase('Fetching the texts…')} failed={phrase('The texts could not be shown')}>
      {(texts) => (
        <Scrolls className="about-notices" label={phrase('Texts of the licenses')}>
          <pre>{texts}</pre>
        </Scrolls>
      )}
    </Answer>
  )
}

/** The packages of others whose code is in the app, with their licences. */
function Licences() {
  const [text, setText] = useState('')
  const [open, setOpen] = useState(false)
  const wanted = text.trim().toLowerCase()
  const found = shipped.filter(
    ({ name, license }) => name.toLowerCase().includes(wanted) || license.toLowerCase().includes(wanted),
  )
  return (
    <Section className="section about-section" title={phrase('Licenses')}>
      <p>
        {phrase('{shipped} packages of others are in this app. Their licenses allow that; this is who and what.', {
          shipped: count(shipped.length),
        })}
      </p>
      <div className="flow about-tools">
        <TextInput
          label={phrase('Find a package or license')}
          value={text}
          onChange={(event) => setText(event.currentTarget.value)}
        />
        <Button aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? phrase('Hide the texts') : phrase('Show the texts')}
        </Button>
        <output className="quiet">{wanted && phrase('{found} found', { found: count(found.length) })}</output>
      </div>
      {open && <Notices />}
      <SheetTable
        frame="about-packages"
        label={phrase('Packages and their licenses')}
        rows={found}
        keyOf={({ name, version }) => `${name} ${version}`}
        columns={[
          [phrase('Package'), ({ name }) => name],
          [phrase('Version'), ({ version }) => version],
          [phrase('License'), ({ license }) => license],
        ]}
      />
    </Section>
  )
}

const AppFacts = ({ facts }: { facts: AboutFacts }) => (
  <Facts
    as="lines"
    facts={[
      ['Tareline', facts.version],
      [phrase('Fleet file format'), phrase('step {step}', { step: facts.step })],
      ['SQLite', facts.sqlite],
      [phrase('Node'), facts.node],
      [
        phrase('Window'),
        facts.electron === null
          ? phrase('the installed browser')
          : phrase('Electron {electron}, Chromium {chromium}', {
              electron: facts.electron,
              chromium: facts.chromium ?? phrase('unknown'),
            }),
      ],
      [phrase('System'), facts.system],
      [
        phrase('Fleet file'),
        <>
          {facts.file} <a href={hrefOf('copies')}>{phrase('its copies')}</a>
        </>,
      ],
      [phrase('Log'), facts.logFolder],
    ]}
  />
)

function SupportBundle() {
  const [withFleet, setWithFleet] = useState(false)
  const saving = useMutation(api.about.supportBundle.mutationOptions({ onSuccess: saveFile }))
  return (
    <Section className="section about-section" title={phrase('Support bundle')}>
      <p>
        {phrase(
          'One ZIP file for whoever helps you: the versions above, the log, and of the fleet file its size, whether it is whole and how many rows its tables have. The log holds no names, units, plates or folders. Nothing is sent anywhere: you save the file and decide who gets it.',
        )}
      </p>
      <Checkbox
        checked={withFleet}
        onChange={(event) => setWithFleet(event.currentTarget.checked)}
        size="sm"
        label={phrase('With a copy of the whole fleet file')}
        description={phrase('Units, plates, weights and the names of people are then in the bundle.')}
      />
      <Button
        variant="filled"
        className="about-button"
        loading={saving.isPending}
        onClick={() => saving.mutate({ withFleet })}
      >
        {phrase('Save the support bundle')}
      </Button>
      {saving.isError && <ProblemNotice title={phrase('The bundle was not saved')} error={saving.error} />}
      {saving.data && (
        <p role="status">
          {phrase('Saved as {name}{withFleet}', {
            name: saving.data.name,
            withFleet: saving.variables.withFleet
              ? phrase(', with the fleet file in it.')
              : phrase(', without fleet data.'),
          })}
        </p>
      )}
    </Section>
  )
}

/** What runs here, where its files lie, what to give to whoever helps, and whose work is in it. */
export function AboutScreen() {
  const facts = useQuery(api.about.facts.queryOptions({ refetchOnMount: 'always' }))
  return (
    <div className="page stack about">
      <ScreenTitle tab={phrase('About')}>{phrase('About Tareline')}</ScreenTitle>
      <p className="about-words">
        {phrase(
          'Keeps a fleet’s onboard axle weights honest. Everything stays on this computer: the app calls no other.',
        )}
      </p>
      <Answer
        to={facts}
        waiting={phrase('Looking at what runs here…')}
        failed={phrase('The versions could not be read')}
      >
        {(known) => <AppFacts facts={known} />}
      </Answer>
      <NotForTrade />
      <AllowedFolders />
      <SupportBundle />
      <Licences />
    </div>
  )
}
