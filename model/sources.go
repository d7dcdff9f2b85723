package model

import (
	"regexp"
	"strings"
)

// SourceID names a line of the source table.
type SourceID string

// Facts without a publication say which kind of fact they are.
const (
	CommonPractice SourceID = "common-practice"
	FromMemory     SourceID = "from-memory"
	OurChoice      SourceID = "our-choice"
)

// Source is a publication, with enough to find it again.
type Source struct {
	ID       SourceID
	Citation string // authors, year, title or journal
	DOI      string // "" where there is none
	URL      string // of the body that published it, where there is no DOI
	Checked  string // the day somebody last held it against our text, and how
}

// Published reports whether the source stands in the world, and not only in our
// own judgement.
func (s Source) Published() bool { return s.DOI != "" || s.URL != "" }

// Short is a citation as one names it in passing: authors or body, and year.
func (s Source) Short() string {
	if m := inPassing.FindString(s.Citation); m != "" {
		return m
	}
	head, rest, _ := strings.Cut(s.Citation, ". ")
	if inPassing.MatchString("in " + head) { // of nobody by name
		title, _, _ := strings.Cut(rest, ". ")
		return title + ", " + head
	}
	return head
}

var inPassing = regexp.MustCompile(`^\D.*?\b(19|20)\d\d\b`)

// Cite is a place in a source.
type Cite struct {
	Source SourceID
	At     string // table, page, recommendation
}

// Sources is the source table.
func Sources() []Source { return sources }

// FindSource looks a source up.
func FindSource(id SourceID) (Source, bool) {
	for _, s := range sources {
		if s.ID == id {
			return s, true
		}
	}
	return Source{}, false
}

const (
	seenText     = "2026-11-25, text read"
	seenAbstract = "2026-11-25, abstract read"
	seenQuoted   = "2026-11-25, quoted by other pages"
	notSeen      = "2026-11-25, from memory only"
)

var sources = []Source{
	{ID: CommonPractice, Citation: "Common practice; no publication found", Checked: "2026-11-25"},
	{ID: FromMemory, Citation: "From memory; not yet confirmed by a publication", Checked: "2026-11-25"},
	{ID: OurChoice, Citation: "Quietwater's own cautious choice where sources are silent or differ", Checked: "2026-11-25"},
	{ID: "gallagher1990", Citation: "Gallagher EJ et al. 1990. Air-exposed strips and false positive nitrite. Am J Emerg Med 8:121-123", DOI: "", URL: "https://pubmed.ncbi.nlm.nih.gov/?term=Gallagher+1990+Am+J+Emerg+Med+8+121", Checked: seenAbstract},
	{ID: "simerville2005", Citation: "Simerville JA, Maxted WC, Pahira JJ. 2005. Urinalysis: a comprehensive review. Am Fam Physician 71:1153-1162", URL: "https://www.aafp.org/pubs/afp/issues/2005/0315/p1153.html", Checked: seenQuoted},
	{ID: "mcadams2024", Citation: "McAdams MC et al. 2024. Specific gravity and strip protein. Kidney360", DOI: "10.34067/kid.0000000000000452", Checked: seenAbstract},
	{ID: "frontmed2023", Citation: "2023. Trace protein and specific gravity. Front Med", DOI: "10.3389/fmed.2023.1148698", Checked: seenAbstract},
	{ID: "sumida2020", Citation: "Sumida K et al. 2020. Conversion of urine protein-creatinine ratio or strip protein to albumin-creatinine ratio. Ann Intern Med 173:426-435", DOI: "10.7326/M20-0529", Checked: seenAbstract},
	{ID: "mejia2021", Citation: "Mejia JR et al. 2021. Albumin strips against laboratory ratio. Heliyon", DOI: "10.1016/j.heliyon.2021.e08253", Checked: seenAbstract},
	{ID: "kdigo2012", Citation: "KDIGO 2012 clinical practice guideline for chronic kidney disease. Kidney Int Suppl 2013;3", URL: "https://kdigo.org/guidelines/ckd-evaluation-and-management/", Checked: seenText},
	{ID: "kdigo2024", Citation: "KDIGO 2024 clinical practice guideline for chronic kidney disease. Kidney Int 105(4S)", DOI: "10.1016/j.kint.2023.10.018", Checked: seenText},
	{ID: "nice-ng203", Citation: "NICE guideline NG203, 2021. Chronic kidney disease: assessment and management", URL: "https://www.nice.org.uk/guidance/ng203", Checked: seenText},
	{ID: "nice-ng12", Citation: "NICE guideline NG12, 2015. Suspected cancer: recognition and referral", URL: "https://www.nice.org.uk/guidance/ng12", Checked: seenQuoted},
	{ID: "nice-ng133", Citation: "NICE guideline NG133, 2019. Hypertension in pregnancy", URL: "https://www.nice.org.uk/guidance/ng133", Checked: seenText},
	{ID: "nice-ng136", Citation: "NICE guideline NG136, 2019. Hypertension in adults", URL: "https://www.nice.org.uk/guidance/ng136", Checked: "2026-11-27, quoted by other pages"},
	{ID: "esh2021", Citation: "Parati G et al. 2021. Home blood pressure monitoring: a position paper of the European Society of Hypertension. J Hypertens 39:1742-1767", DOI: "10.1097/HJH.0000000000002922", Checked: seenQuoted},
	{ID: "isshp2021", Citation: "Magee LA et al. 2022. The 2021 ISSHP classification, diagnosis and management of hypertensive disorders of pregnancy. Pregnancy Hypertens 27:148-169", DOI: "10.1016/j.preghy.2021.09.008", Checked: "2026-11-27, quoted by other pages"},
	{ID: "nice-ng109", Citation: "NICE guideline NG109, 2018. Urinary tract infection (lower)", URL: "https://www.nice.org.uk/guidance/ng109", Checked: seenText},
	{ID: "nice-ng111", Citation: "NICE guideline NG111, 2018. Pyelonephritis (acute)", URL: "https://www.nice.org.uk/guidance/ng111", Checked: seenQuoted},
	{ID: "nice-qs90", Citation: "NICE quality standard QS90. Urinary tract infections in adults", URL: "https://www.nice.org.uk/guidance/qs90", Checked: seenText},
	{ID: "nhs-kidney-infection", Citation: "National Health Service (England). Kidney infection", URL: "https://www.nhs.uk/conditions/kidney-infection/", Checked: seenText},
	{ID: "nhs-ketoacidosis", Citation: "National Health Service (England). Diabetic ketoacidosis", URL: "https://www.nhs.uk/conditions/diabetic-ketoacidosis/", Checked: seenText},
	{ID: "danne2019", Citation: "Danne T et al. 2019. International consensus on ketoacidosis risk with SGLT inhibitors. Diabetes Care 42:1147-1154", DOI: "10.2337/dc18-2316", Checked: seenText},
	{ID: "umpierrez2024", Citation: "Umpierrez GE et al. 2024. Hyperglycaemic crises in adults: consensus report. Diabetologia", DOI: "10.1007/s00125-024-06183-8", Checked: seenQuoted},
	{ID: "auasufu2025", Citation: "AUA/SUFU guideline on microhaematuria, 2020, amended 2025", URL: "https://www.auanet.org/guidelines-and-quality/guidelines/microhematuria", Checked: seenQuoted},
	{ID: "kelly2009", Citation: "Kelly JD, Fawcett DP, Goldberg LC. 2009. Assessment and management of non-visible haematuria in primary care. BMJ 338:a3021", DOI: "10.1136/bmj.a3021", Checked: seenText},
	{ID: "esc-weight", Citation: "European Society of Cardiology. Guide for people with heart failure: weight gain", URL: "https://www.heartfailurematters.org/en_GB/Understanding-heart-failure/Weight-gain", Checked: "2026-11-27, text read"},
	{ID: "watson2022", Citation: "Watson KE et al. 2022. Sick day guidance in diabetes, kidney and cardiovascular disease. Am J Kidney Dis", DOI: "10.1053/j.ajkd.2022.10.012", Checked: seenAbstract},
	{ID: "nidirect-jaundice", Citation: "NI Direct. Jaundice", URL: "https://www.nidirect.gov.uk/conditions/jaundice", Checked: seenText},
	{ID: "iso15223", Citation: "ISO 15223-1. Medical devices: symbols to be used with information supplied by the manufacturer", URL: "https://www.iso.org/standard/77326.html", Checked: seenQuoted},
	{ID: "fu2022", Citation: "Fu EL et al. 2022. Removing race from the CKD-EPI equation and its impact on prognosis in a predominantly White European population. Nephrol Dial Transplant 38:119-128", DOI: "10.1093/ndt/gfac197", Checked: "2026-11-26, abstract read"},
	{ID: "loinc", Citation: "LOINC, Regenstrief Institute", URL: "https://loinc.org", Checked: seenText},
	{ID: "inker2021", Citation: "Inker LA et al. 2021. New creatinine- and cystatin C-based equations to estimate GFR without race. N Engl J Med 385:1737-1749", DOI: "10.1056/NEJMoa2102953", Checked: seenQuoted},
	{ID: "inker2012", Citation: "Inker LA et al. 2012. Estimating glomerular filtration rate from serum creatinine and cystatin C. N Engl J Med 367:20-29", DOI: "10.1056/NEJMoa1114248", Checked: seenQuoted},
	{ID: "schwartz2009", Citation: "Schwartz GJ et al. 2009. New equations to estimate GFR in children with CKD. J Am Soc Nephrol 20:629-637", DOI: "10.1681/ASN.2008030287", Checked: seenQuoted},
	{ID: "pierce2021", Citation: "Pierce CB et al. 2021. Age- and sex-dependent clinical equations to estimate GFR in children and young adults. Kidney Int 99:948-956", DOI: "10.1016/j.kint.2020.10.047", Checked: seenAbstract},
	{ID: "cockcroft1976", Citation: "Cockcroft DW, Gault MH. 1976. Prediction of creatinine clearance from serum creatinine. Nephron 16:31-41", DOI: "10.1159/000180580", Checked: seenQuoted},
	{ID: "dubois1916", Citation: "Du Bois D, Du Bois EF. 1916. A formula to estimate the approximate surface area if height and weight be known. Arch Intern Med 17:863-871", DOI: "10.1001/archinte.1916.00080130010002", Checked: seenQuoted},
	{ID: "mosteller1987", Citation: "Mosteller RD. 1987. Simplified calculation of body-surface area. N Engl J Med 317:1098", DOI: "10.1056/NEJM198710223171717", Checked: seenQuoted},
	{ID: "kdigo-aki2012", Citation: "KDIGO 2012 clinical practice guideline for acute kidney injury. Kidney Int Suppl 2012;2", URL: "https://kdigo.org/guidelines/acute-kidney-injury/", Checked: seenQuoted},
	{ID: "ada2024", Citation: "American Diabetes Association. 2024. Standards of Care in Diabetes, section 11: chronic kidney disease and risk management. Diabetes Care 47(S1):S219-S230", DOI: "10.2337/dc24-S011", Checked: seenText},
	{ID: "tangri2016", Citation: "Tangri N et al. 2016. Multinational assessment of accuracy of equations for predicting risk of kidney failure. JAMA 315:164-174", DOI: "10.1001/jama.2015.18202", Checked: seenQuoted},
	{ID: "ramspek2021", Citation: "Ramspek CL et al. 2021. Kidney failure prediction models: a comprehensive external validation study in patients with advanced CKD. J Am Soc Nephrol 32:1174-1186", DOI: "10.1681/ASN.2020071077", Checked: "2026-11-26, abstract read"},
	{ID: "blakeman2016", Citation: "Blakeman T et al. 2016. Guidance on the timeliness in response to acute kidney injury warning stage test results for adults in primary care: an appropriateness ratings evaluation. BMJ Open", URL: "https://researchprofiles.canberra.edu.au/en/publications/development-of-guidance-on-the-timeliness-in-response-to-acute-ki", Checked: "2026-11-26, abstract read"},
	{ID: "ukka2023", Citation: "UK Kidney Association clinical practice guideline, 2023. Treatment of acute hyperkalaemia in adults", URL: "https://ukkidney.org/health-professionals/guidelines/treatment-acute-hyperkalaemia-adults", Checked: "2026-11-26, quoted by other pages"},
	{ID: "viera2015", Citation: "Viera AJ, Wouk N. 2015. Potassium disorders: hypokalemia and hyperkalemia. Am Fam Physician 92:487-495", URL: "https://www.aafp.org/pubs/afp/issues/2015/0915/p487.html", Checked: seenAbstract},
	{ID: "walsh2016", Citation: "Walsh J, Gittoes N, Selby P. 2016. Emergency management of acute hypercalcaemia in adult patients. Endocr Connect 5:G9-G11", DOI: "10.1530/EC-16-0055", Checked: "2026-11-26, text read"},
	{ID: "turner2016", Citation: "Turner J, Gittoes N, Selby P. 2016. Emergency management of acute hypocalcaemia in adult patients. Endocr Connect 5:G7-G8", URL: "https://ec.bioscientifica.com/view/journals/ec/5/5/G7.xml", Checked: "2026-11-26, text read"},
	{ID: "payne1973", Citation: "Payne RB, Little AJ, Williams RB, Milner JR. 1973. Interpretation of serum calcium in patients with abnormal serum proteins. BMJ 4:643-646", DOI: "10.1136/bmj.4.5893.643", Checked: "2026-11-26, abstract read"},
	{ID: "lian2018", Citation: "Lian IA, Asberg A. 2018. Should total calcium be adjusted for albumin? BMJ Open 8:e017703", DOI: "10.1136/bmjopen-2017-017703", Checked: "2026-11-26, abstract read"},
}
