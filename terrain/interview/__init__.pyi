from .answers import Answers as Answers
from .talk import heard as heard, prompt as prompt, talk_begun as talk_begun
from .written import files_of as files_of
