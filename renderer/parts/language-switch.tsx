import { languages, offeredLanguages, phrase, speech } from '#core/words/phrase.ts'

interface LanguageSwitchProps {
  readonly className: string
  readonly onChoose: (language: string) => void
}

/** The languages to choose from, each by its own name. */
export const LanguageSwitch = ({ className, onChoose }: LanguageSwitchProps) => (
  <select
    className={className}
    aria-label={phrase('Language')}
    title={phrase('Language')}
    value={speech().language}
    onChange={(event) => onChoose(event.currentTarget.value)}
  >
    {offeredLanguages.map((language) => (
      <option key={language} value={language} lang={language}>
        {languages[language].name}
      </option>
    ))}
  </select>
)
